"""Note names and the geometry of keys: numbers in, numbers out."""
