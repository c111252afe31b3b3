"""A design made to somebody's measures: the values of its parameters at which the figure has the room that is asked for."""
