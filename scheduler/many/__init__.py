"""Many gardens at once: in processes here, or on a cluster."""
