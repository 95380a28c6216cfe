"""Pure formulas of plumbing: plain floats in SI, the unit in every name."""
