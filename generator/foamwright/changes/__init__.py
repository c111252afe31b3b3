"""What changed between two packs, or between two versions of a design."""
