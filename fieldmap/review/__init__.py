"""Plans beside what happened, what thermometers read, and each other.

Finished plans and records of the season come in; facts about how well they agree go out.
"""
