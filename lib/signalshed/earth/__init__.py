"""The round Earth under the path: where things are, and what stands between.

=========  ==============================================================================
geodesy    ``bearing_and_distance``, ``bearing_deg``, ``distance_km``, ``destination``
=========  ==============================================================================
"""

from .geodesy import bearing_and_distance, bearing_deg, destination, distance_km

__all__ = ["bearing_and_distance", "bearing_deg", "destination", "distance_km"]
