"""A weather record near the plots, from a file or an archive."""
