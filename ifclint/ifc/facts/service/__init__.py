"""The service that an element is of."""
