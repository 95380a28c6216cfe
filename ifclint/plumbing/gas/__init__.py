"""Fuel gas: from the meter through segments and regulators to the appliances."""
