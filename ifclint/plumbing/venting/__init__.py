"""Vents: trap arms, dry vent piping, and how each trap is vented."""
