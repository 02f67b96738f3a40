"""Everything acknowledged, in one SQLite file and a store of profiles; spoken to by journey only."""
