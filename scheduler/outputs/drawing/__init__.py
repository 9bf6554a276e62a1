"""Drawings for the page, as inline SVG; each carries its meaning in words for screen readers."""
