"""What everything rests on: faults, files that are whole, YAML with lines, weeks."""
