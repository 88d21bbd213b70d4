"""Light on the ground: of the sky, behind hills, beside what stands on it."""
