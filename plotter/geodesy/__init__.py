"""The geodesy core, and the conventions of the whole package, stated once.

- WGS 84 throughout, unless a function takes an ellipsoid.
- Latitude first. Latitude north-positive in [−90, 90]; longitude east-positive, returned in
  [−180, 180).
- Bearings clockwise from the stated north in [0, 360). The north is in the name:
  ``bearing_true_deg``, ``bearing_magnetic_deg``, ``bearing_grid_deg``. At a pole a bearing counts
  from the meridian that the position's longitude names.
- true = magnetic + declination; true = grid + convergence.
- Metres and degrees, with the unit in the name. A sigma is one standard deviation.
- Times are UTC and aware.
- Array functions take anything that broadcasts and return float64; no answer is NaN. Scalar
  functions raise a named error instead. Bad input always raises.
"""
