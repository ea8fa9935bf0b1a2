"""Parts: what each sort of component is, how far its numbers lie, and how it fails."""

from shouldread.parts.edits import Bridge, Change, Drive, Edit, Junction, Lift, Remove, Scale
from shouldread.parts.kind import Detail, Mode, PartKind, Severity, SpreadRule
from shouldread.parts.kinds import KINDS
from shouldread.parts.part import Block, Effect, Model, Part, PinFacts
from shouldread.parts.spreads import THERMAL_VOLTS, is_of_type, model_value, number_of, spreads_of
from shouldread.parts.tables import block_figures, shared_weight

__all__ = [
    "KINDS",
    "THERMAL_VOLTS",
    "Block",
    "Bridge",
    "Change",
    "Detail",
    "Drive",
    "Edit",
    "Effect",
    "Junction",
    "Lift",
    "Mode",
    "Model",
    "Part",
    "PartKind",
    "PinFacts",
    "Remove",
    "Scale",
    "Severity",
    "SpreadRule",
    "block_figures",
    "is_of_type",
    "model_value",
    "number_of",
    "shared_weight",
    "spreads_of",
]
