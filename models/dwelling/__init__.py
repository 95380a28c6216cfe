"""A two-storey dwelling of our own invention, drawn part by part and written as IFC."""
