"""EDGE: many recordings to notes, by several processes or computers, told in a manifest."""
