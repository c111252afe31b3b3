"""The virtual bench: foam cut by the lines of a pack's files, bent by its own lengths, joined mark to mark, measured."""
