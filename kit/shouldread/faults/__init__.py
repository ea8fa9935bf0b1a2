"""Faults and conditions: changes of a circuit, kept as data."""

from shouldread.faults.conditions import Condition, condition_edits, read_conditions
from shouldread.faults.fault import Fault
from shouldread.faults.inject import fault_edits
from shouldread.faults.reading import read_fault
from shouldread.faults.single import single_faults

__all__ = ["Condition", "Fault", "condition_edits", "fault_edits", "read_conditions", "read_fault", "single_faults"]
