"""Book: the append-only log of the workshop in SQLite. Knows events, their fold and how they are kept; no model."""
