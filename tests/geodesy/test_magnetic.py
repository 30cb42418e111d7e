"""Declination against the WMM2025 test table, two packages, and the model's own limits."""

import datetime as dt
import re
import warnings

import numpy as np
import pytest
from check_values import label, numbers, rows

from plotter.errors import FormatError
from plotter.geodesy.magnetic import decimal_year, declination, field_arrays
from plotter.geodesy.position import Position

TABLE = "06_wmm2025.csv"
OFFICIAL = [each for each in rows(TABLE) if each["inputs"].startswith("year ")]


@pytest.mark.parametrize("each", OFFICIAL, ids=label)
def test_official_table(each):
    year, height_km, lat, lon = numbers(each["inputs"].replace(";", " "))
    field = field_arrays([lat], [lon], year, height_km * 1000)
    printed = {
        key: float(value)
        for key, value in re.findall(r"\b(D|I|H|X|Y|Z|F) (-?[\d.]+)", each["expected"])
    }
    assert float(field.declination_deg[0]) == pytest.approx(printed["D"], abs=0.00501)
    assert float(field.inclination_deg[0]) == pytest.approx(printed["I"], abs=0.00501)
    assert float(field.horizontal_nt[0]) == pytest.approx(printed["H"], abs=0.1)
    assert float(field.north_nt[0]) == pytest.approx(printed["X"], abs=0.1)
    assert float(field.east_nt[0]) == pytest.approx(printed["Y"], abs=0.1)
    assert float(field.down_nt[0]) == pytest.approx(printed["Z"], abs=0.1)
    total = np.hypot(field.horizontal_nt, field.down_nt)
    assert float(total[0]) == pytest.approx(printed["F"], abs=0.1)


@pytest.mark.parametrize("each", OFFICIAL, ids=label)
def test_yearly_change(each):
    year, height_km, lat, lon = numbers(each["inputs"].replace(";", " "))
    step = 0.01
    before, after = (
        float(field_arrays([lat], [lon], year + d, height_km * 1000).declination_deg[0])
        for d in (-step, step)
    )
    rate = ((after - before + 180) % 360 - 180) / (2 * step)
    printed = float(re.search(r"dD (-?[\d.]+)", each["expected"])[1])
    # A difference over a hundredth of a year against a derivative: equal to its square.
    assert rate == pytest.approx(printed, abs=2e-4)


def test_timbuktu():
    each = next(each for each in rows(TABLE) if each["case"] == "Timbuktu")
    place = Position(16 + 46 / 60 + 33 / 3600, -(3 + 34 / 3600))
    found = declination(place, dt.date(2025, 1, 1), 300)
    printed = re.search(r"D (-?[\d.]+).*H ([\d.]+)", each["expected"])
    assert found.declination_deg == pytest.approx(float(printed[1]), abs=0.01)
    assert found.horizontal_nt == pytest.approx(float(printed[2]), abs=0.1)


def test_every_row_is_checked():
    assert len(OFFICIAL) + 1 == len(rows(TABLE))


def test_against_two_independent_packages():
    """wmm-calculator and pygeomag on random places, dates and heights."""
    from pygeomag import GeoMag
    from wmm import wmm_calc

    rng = np.random.default_rng(3)
    n = 200
    lat, lon = rng.uniform(-85, 85, n), rng.uniform(-180, 180, n)
    year, height_km = rng.uniform(2025, 2029.99, n), rng.uniform(0, 50, n)
    ours = field_arrays(lat, lon, year, height_km * 1000)
    model = wmm_calc()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it prints its caution zones as warnings
        model.setup_env(lat, lon, height_km, unit="km", msl=False)
        model.setup_time(dyear=year)
        theirs = model.get_Bx(), model.get_By(), model.get_Bz()
    assert np.allclose(ours.north_nt, theirs[0], atol=0.05)
    assert np.allclose(ours.east_nt, theirs[1], atol=0.05)
    assert np.allclose(ours.down_nt, theirs[2], atol=0.05)
    other = GeoMag(coefficients_file="wmm/WMM_2025.COF")
    for i in range(0, n, 10):
        result = other.calculate(lat[i], lon[i], height_km[i], year[i])
        assert float(ours.declination_deg[i]) == pytest.approx(result.d, abs=1e-3)


def test_outside_its_years_the_model_warns():
    place = Position(47, 8)
    for day in (dt.date(2024, 12, 31), dt.date(2030, 1, 1), dt.date(1999, 5, 5)):
        assert any("2025 to 2029" in w for w in declination(place, day).warnings)
    for day in (dt.date(2025, 1, 1), dt.date(2029, 12, 31)):
        assert declination(place, day).warnings == ()


def test_near_the_magnetic_poles_it_warns():
    # The WMM's zones: below 2000 nT horizontal a compass is useless, below 6000 nT unreliable.
    day = dt.date(2026, 3, 1)
    dip_pole = declination(Position(85.8, 139.3), day)  # WMM2025's north dip pole, near enough
    assert dip_pole.horizontal_nt < 2000
    assert any("not usable" in w for w in dip_pole.warnings)
    caution = declination(Position(74, -110), day)
    assert 2000 < caution.horizontal_nt < 6000
    assert any("unreliable" in w for w in caution.warnings)


def test_the_pole_itself_is_a_number():
    assert np.isfinite(declination(Position(90, 0), dt.date(2026, 1, 1)).declination_deg)


def test_uncertainty_grows_towards_the_magnetic_pole():
    day = dt.date(2026, 3, 1)
    assert declination(Position(0, 0), day).sigma_deg < declination(Position(80, 0), day).sigma_deg


def test_height_out_of_range_is_refused():
    with pytest.raises(FormatError, match="height"):
        declination(Position(0, 0), dt.date(2026, 1, 1), 1e6)


def test_decimal_year():
    assert decimal_year(dt.date(2025, 1, 1)) == 2025.0
    assert decimal_year(dt.date(2028, 7, 1)) == pytest.approx(2028 + 182 / 366)
