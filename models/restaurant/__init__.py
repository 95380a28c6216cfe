"""The Salt Thistle: a restaurant with a flat above, drawn by another habit than the dwelling."""
