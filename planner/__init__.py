"""Rangeferry: can a mobile unit charge this vehicle, how long will it take, what does the crew need to know."""

__version__ = "0.1.0"
