"""The steps at the bench, and their sentences."""
