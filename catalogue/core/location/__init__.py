"""Where along a conductor the break is. `locate.py` brings it all together; start at `observations.py`."""
