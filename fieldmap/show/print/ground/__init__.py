"""The ground on paper: plans to scale, what fills them, and what is said of the ground."""
