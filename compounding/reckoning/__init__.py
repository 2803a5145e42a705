"""PURE arithmetic of the trade. (The map is written when the rooms stand.)"""
