"""What times tell: spread, control charts, comparison, reasons by their number, forecasts. Pure.

Times are whole milliseconds or floats of seconds; no amount of a preparation ever comes here.
"""
