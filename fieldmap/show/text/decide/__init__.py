"""What was decided, in words: a module for each room or module of `decide`."""
