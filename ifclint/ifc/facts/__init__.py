"""What each element is: class and words, properties, material, size and system."""
