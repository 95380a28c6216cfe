"""Cleanouts: the drain lines one rods, the openings, and how far a cable gets."""
