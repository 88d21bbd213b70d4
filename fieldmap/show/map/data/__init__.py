"""What the page's scripts work with, as data."""
