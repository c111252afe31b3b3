"""A static site of packs: found, read and held against their own checksums, then set as pages that ask nobody anything.

`published` reads one pack, `shelf` puts them in order, `pages` sets them with Jinja (every value is escaped), `pictures`
makes small ones, `feeds` tells programs, `site` writes what is new and leaves what is not.
"""
