"""What plans and a season taught, in words."""
