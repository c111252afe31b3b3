"""The first look: a prop as far as its parts can be placed, what shares space, and what failed. No solids are made."""
