"""A design looked at again on every save, in a page of this machine's own."""
