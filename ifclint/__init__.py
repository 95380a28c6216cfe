"""ifclint reviews the plumbing in open IFC building models before anything is built."""

__version__ = "0.1.0"
