"""The diagnosis room."""

from shouldread.diagnosis.band import Band
from shouldread.diagnosis.cautions import Caution, borne, caution_rule, cautions
from shouldread.diagnosis.diagnosing import diagnose, diagnose_dealt
from shouldread.diagnosis.diagnosis import Diagnosis
from shouldread.diagnosis.estimate import Estimate
from shouldread.diagnosis.expectation import Expectation, Expected, expect
from shouldread.diagnosis.fault_table import FaultTable, fault_table
from shouldread.diagnosis.finding import Group, Probe, Suspect
from shouldread.diagnosis.hypothesis import Masses
from shouldread.diagnosis.rail_finding import RailRow, RailWalk
from shouldread.diagnosis.rail_road import RailStep
from shouldread.diagnosis.rail_sheet import rails_of
from shouldread.diagnosis.rail_walk import walk_rails
from shouldread.diagnosis.stopping import StoppedError, stoppable
from shouldread.diagnosis.strays import stray_edits, strays
from shouldread.diagnosis.wording import rank

__all__ = [
    "Band",
    "Caution",
    "Diagnosis",
    "Estimate",
    "Expectation",
    "Expected",
    "FaultTable",
    "Group",
    "Masses",
    "Probe",
    "RailRow",
    "RailStep",
    "RailWalk",
    "StoppedError",
    "Suspect",
    "borne",
    "caution_rule",
    "cautions",
    "diagnose",
    "diagnose_dealt",
    "expect",
    "fault_table",
    "rails_of",
    "rank",
    "stoppable",
    "stray_edits",
    "strays",
    "walk_rails",
]
