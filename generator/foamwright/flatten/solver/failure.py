"""The one way in which laying a mesh flat fails."""


class CannotFlatten(ValueError):
    """The mesh is not one that can be laid flat, or no solution was found; the message says which."""
