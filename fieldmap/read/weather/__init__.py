"""Weather files of every known form -> one gapless daily record, and its station."""
