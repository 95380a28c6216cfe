"""The building around the plumbing: storeys, spaces, walls, and several files of it."""
