"""Campaigns that try to break reading, and to lose a plan."""
