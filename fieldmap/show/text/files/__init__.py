"""What files hold, in words."""
