"""What the crops taught."""
