"""X: ICs and supplies, each an instance of a ``.subckt`` whose model file states how it fails."""

from shouldread.parts.declare import declare

BLOCK = declare(
    letter="X",
    name="IC",
    pins=(),
    unit="",
    stand_in="an IC fails by effect, as its model file states, and at its joints",
)
