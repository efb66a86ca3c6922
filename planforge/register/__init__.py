"""What identifies an issued plan."""
