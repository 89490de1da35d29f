"""Safety over the time of an outing: home in time, zones, people near, tethers."""
