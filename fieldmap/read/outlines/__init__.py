"""Files of outlines -> plots, surroundings, beds that exist, marks and what-ifs."""
