"""The sign inside this package that an exact shape cannot be made and a simpler one is to be tried."""


class ShapeFailure(Exception):
    pass
