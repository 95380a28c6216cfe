"""The water supply: from the meter and the heaters to every fixture."""
