"""A note heard, read and put right in the browser. EDGE; `strip.py`, `sheet.py` and `ranges.py` are pure."""
