"""The text of an IFC file, and the library where text is not enough."""
