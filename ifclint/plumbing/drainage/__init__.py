"""Drainage: fixtures, segments, stacks, changes of direction and outlets, directed by gravity."""
