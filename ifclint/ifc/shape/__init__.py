"""Where elements stand and what their shapes tell."""
