"""How a run ends before its end: an error of the user's, told in one sentence, or a signal."""


class InputError(Exception):
    """The run cannot be done with what was given (exit status 2). The message is shown as it is."""


class Stopped(BaseException):
    """The run was told to stop, from outside (a signal). No rule pack raises it by accident."""


class OutOfTime(BaseException):
    """Code of a rule pack did not return in time. It is no Exception, so that the code does not
    catch it by accident."""


# What code of others may raise and costs them alone: not what tells the whole run to stop.
RAISED = (Exception, SystemExit, KeyboardInterrupt, OutOfTime)
