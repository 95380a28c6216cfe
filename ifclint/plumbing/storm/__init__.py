"""Storm drainage of a building: inlets, leaders, horizontal storm drains."""
