"""A pack held against itself: what its written files say, read back as a stranger reads them."""
