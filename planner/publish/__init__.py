"""The published pages: pure functions from a dataset to texts, and a thin adapter to the site generator."""
