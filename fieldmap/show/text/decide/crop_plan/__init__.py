"""What stands where, what covers do, and what found no bed, in words."""
