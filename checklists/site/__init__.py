"""The wiring: settings, addresses, what surrounds a request, and the front door of a bare machine."""
