"""What stands around the plumbing: floors, walls, roofs, windows, equipment."""
