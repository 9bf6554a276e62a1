"""What a schedule uses, breaks and is worth, by arithmetic alone."""
