"""By page: a view guards, validates, answers."""
