"""Faults and conditions: changes of a circuit, kept as data."""

from shouldread.faults.conditions import Condition, condition_edits, read_conditions
from shouldread.faults.fault import Fault
from shouldread.faults.inject import fault_edits
from shouldread.faults.places import find_pin
from shouldread.faults.reading import read_fault
from shouldread.faults.single import by_name, single_faults

__all__ = [
    "Condition",
    "Fault",
    "by_name",
    "condition_edits",
    "fault_edits",
    "find_pin",
    "read_conditions",
    "read_fault",
    "single_faults",
]
