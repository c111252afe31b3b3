"""Where the eye looks along in pictures of the whole prop, in lines or in tones."""

from __future__ import annotations

FRONT = (-1.0, -1.3, -0.75)  # from the front left above
BACK = (1.0, 1.3, -0.75)
BELOW = (-1.0, -1.3, 0.9)
UP = (0.0, 0.0, 1.0)
