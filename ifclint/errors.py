"""The one error a user may meet: one sentence that says what is wrong, where, and what to do."""


class InputError(Exception):
    """The run cannot be done with what was given (exit status 2). The message is shown as it is."""
