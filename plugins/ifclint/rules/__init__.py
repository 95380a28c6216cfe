"""The rule packs of this distribution, by the same hooks as anybody's."""
