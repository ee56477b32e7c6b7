"""Photo files: their kinds, pixels, dates and hashes, and whose photo each one is; no tables."""
