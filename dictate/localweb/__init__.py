"""What pages of this computer share: who may see them, and how they are served. EDGE."""
