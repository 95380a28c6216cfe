"""What reading damaged instances raises, in our own code and in the library's."""

DAMAGE = (RuntimeError, TypeError, ValueError, IndexError, AttributeError, OverflowError, KeyError)
