"""What stands beside and below the plan."""
