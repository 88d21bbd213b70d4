"""Edge: what stood and happened on the beds, and where."""
