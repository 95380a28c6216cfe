"""Pipe sizes as the trade counts them."""

# Drainage pipe, half sizes too; from memory of makers' lists.
TRADE_SIZES = (1.25, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0)
# Water pipe and tube, whole steps of the trade; from memory of makers' lists.
WATER_SIZES = (0.375, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0)
