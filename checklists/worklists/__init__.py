"""The read side: a frozen dataclass per screen, and the functions that fill it. Nothing here writes."""
