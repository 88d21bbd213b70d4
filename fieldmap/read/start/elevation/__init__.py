"""Heights around the plots, from a file or an address."""
