"""Speech made for tests and the demo: voices out of packages, joined into recordings of known times."""
