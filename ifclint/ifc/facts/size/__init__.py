"""The size of an element."""
