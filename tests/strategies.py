"""Hypothesis strategies and the standing list of hard places, for every test that needs them."""

from hypothesis import strategies as st

from plotter.geodesy.position import Position

# Poles, equator, 180 degrees, zone and band edges, the exceptions, signed zero, what rounds to 60.
HARD_PLACES = [
    Position(lat, lon)
    for lat, lon in (
        (90.0, 0.0), (90.0, 137.0), (-90.0, 0.0), (-90.0, -45.0), (0.0, 0.0), (-0.0, -0.0),
        (0.0, 180.0), (0.0, -180.0), (1e-12, -1e-12), (-1e-12, 179.9999999999),
        (84.0, 0.0), (83.9999999, 0.0), (84.0, -5.00601), (84.0, 84.0), (-80.0, 0.0),
        (-80.0000001, 0.0), (-80.0, 180.0), (89.9999999, 12.3), (-89.9999999, -170.0),
        (56.0, 3.0), (56.0, 2.9999999), (63.9999999, 3.0), (64.0, 3.0), (72.0, 9.0),
        (71.9999999, 9.0), (72.0, 8.9999999), (75.0, 21.0), (75.0, 33.0), (75.0, 42.0),
        (83.9999999, 41.9999999), (48.0, 6.0), (48.0, 5.9999999), (47.9999999, 6.0),
        (8.0, 12.0), (-8.0, -12.0), (51.99999999, 12.0), (59.9999999997, 59.9999999997),
        (12.3456789, 179.99999999), (-41.28646, 174.77624), (60.0, 1.0), (76.0, 37.0),
    )
]  # fmt: skip

latitudes = st.floats(-90, 90)
longitudes = st.floats(-180, 180, exclude_max=True)
positions = st.builds(Position, latitudes, longitudes) | st.sampled_from(HARD_PLACES)
utm_positions = positions.filter(lambda p: -80 <= p.lat_deg < 84)
bearings = st.floats(0, 360, exclude_max=True)
