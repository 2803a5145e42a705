"""WHAT is made and HOW MUCH: the arithmetic of the trade, and what the pharmacy knows and holds."""
