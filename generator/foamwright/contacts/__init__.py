"""What touches what: contacts between the solids in place, found and not declared."""
