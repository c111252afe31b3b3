"""How the finished prop comes apart, and so in which order it goes together: bodies, ways in, units, stages."""
