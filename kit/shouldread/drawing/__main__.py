"""Lays out every circuit of the shelf afresh and keeps the places: ``python -m shouldread.drawing``."""

from shouldread.circuit import load_circuit, shelf
from shouldread.drawing.check import clashes, crossings, verify
from shouldread.drawing.kept import keep, kept_positions
from shouldread.drawing.lay_out import lay_out
from shouldread.drawing.positions import Positions


def main() -> None:
    """Every circuit whose places are not kept yet is polished; all are checked and written."""
    drawn: dict[str, Positions] = {}
    for name in shelf().names:
        circuit = load_circuit(name)
        drawing = lay_out(circuit)
        if kept_positions(drawing.positions.key) is None:
            drawing = lay_out(circuit, effort="printed", positions=Positions())
        drawn[name] = drawing.positions
        said = "; ".join([*verify(drawing), *clashes(drawing)]) or f"{crossings(drawing)} crossings"
        print(f"{name}: {drawing.width:.0f} x {drawing.height:.0f}, {said}", flush=True)
        keep(drawn)
    keep(drawn, only=True)


if __name__ == "__main__":
    main()
