"""Demo buildings of our own invention, and the programs that write them."""
