"""EDGE: sound from a microphone as it comes, and short sounds back to the taster."""
