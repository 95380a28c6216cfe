"""What stands there twice, or as furniture, and is not joined."""
