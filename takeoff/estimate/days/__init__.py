"""Days: works and crews, the calendar, and the plan that puts them together."""
