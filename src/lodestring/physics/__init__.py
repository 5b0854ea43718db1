"""Physics: SI in, SI out. Each module is one phenomenon; none knows a design record, a file format or a unit prefix."""
