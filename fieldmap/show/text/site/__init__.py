"""What a site holds, and what its ground could not tell, in words."""
