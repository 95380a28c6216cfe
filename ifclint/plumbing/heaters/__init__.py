"""Water heaters with what hangs on them, and the vents of what burns fuel."""
