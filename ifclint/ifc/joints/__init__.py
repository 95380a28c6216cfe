"""Ends, the joints a file states, and those that ends which meet suggest."""
