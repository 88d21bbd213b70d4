"""Arrays in, arrays out: one physical idea per module; no files, no CRS, no farm."""
