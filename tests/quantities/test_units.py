"""Units made SI, against the factors that define them (SI Brochure; NIST SP 811, appendix B)."""

import os
import subprocess
import sys
import time

import pytest
from shouldread.errors import UnknownNameError
from shouldread.quantities.units import UNITS, to_si


@pytest.mark.parametrize(
    "value, unit, dimension, si",
    [
        (1, "in", "length", 0.0254),
        (1, "mil", "length", 25.4e-6),
        (35, "µm", "length", 35e-6),
        (35, "um", "length", 35e-6),
        (25, "°C", "temperature", 298.15),
        (185, "°F", "temperature", 358.15),
        (1, "Ah", "charge", 3600.0),
        (2500, "mAh", "charge", 9000.0),
        (1, "Wh", "energy", 3600.0),
        (1, "oz/ft²", "copper", 0.3051517),
        (2, "min", "time", 120.0),
        (100, "mW", "power", 0.1),
        (4.7, "kΩ", "resistance", 4700.0),
    ],
)
def test_factors(value: float, unit: str, dimension: str, si: float) -> None:
    assert to_si(value, unit, dimension) == pytest.approx(si, rel=1e-6)


def test_every_unit_of_the_table_converts() -> None:
    for dimension, (_, names) in UNITS.items():
        for unit in names:
            assert to_si(1.0, unit, dimension) > 0


@pytest.mark.parametrize("unit", ["9**9**9", "meter**9**9**9", "volt", "", "V", "m" * 10_000])
def test_text_never_reaches_the_expression_parser(unit: str) -> None:
    start = time.perf_counter()
    with pytest.raises(UnknownNameError):
        to_si(1.0, unit, "length")
    assert time.perf_counter() - start < 1


def test_the_room_alone_loads_no_unit_library() -> None:
    code = "import sys, shouldread.quantities; sys.exit('pint' in sys.modules)"
    where = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    assert subprocess.run([sys.executable, "-c", code], check=False, env=where).returncode == 0
