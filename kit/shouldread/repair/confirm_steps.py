"""One row of actions.toml on a circuit: what is done, and what is read if the suspicion is right and if it is wrong."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any

from shouldread.circuit import Circuit
from shouldread.diagnosis import Band, Expectation, caution_rule, cautions
from shouldread.faults import Fault
from shouldread.meter import Meter
from shouldread.parts import Part
from shouldread.repair.by_itself import own_bands
from shouldread.repair.confirm_alike import clarity, hull, told_of

ACTS: Mapping[str, str] = {"bridged": "bridge", "linked": "bridge", "lifted": "lift", "removed": "solder"}
COLD = ("ohms", "diode")
READ = {"ohms": "ohms", "diode": "diode test"}


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do and what it reads: bands by place if the suspicion is right, and if it is wrong.

    ``setting``: volts, ohms, diode, or ``value`` for a part by itself on a meter for its value. ``acts``: whether
    something is done to the board (lifted, bridged, fed), rather than only read.
    """

    action: str
    if_right: Mapping[str, Band] = field(default_factory=dict)
    if_wrong: Mapping[str, Band] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    condition: str = ""
    setting: str = "volts"
    acts: bool = False

    def __str__(self) -> str:
        return self.told(())

    @property
    def caution(self) -> str:
        """What to mind, as one line."""
        return "; ".join(self.cautions)

    @property
    def clarity(self) -> int:
        """How well it tells right from wrong at its best place: 0 not at all, 1 typically, 2 mostly, 3 always."""
        pairs = ((band, self.if_wrong[at]) for at, band in self.if_right.items() if at in self.if_wrong)
        return max((clarity(right, wrong) for right, wrong in pairs), default=0)

    @property
    def tells(self) -> bool:
        """Whether right and wrong read differently anywhere."""
        return self.clarity > 0

    def told(self, said: Collection[str]) -> str:
        """The step as text, without the cautions that were said before."""
        fresh = [c for c in self.cautions if c not in said]
        rows = [f"- {self.action}"] + ([f"    caution: {'; '.join(fresh)}"] if fresh else [])
        for place, right in self.if_right.items():
            wrong = self.if_wrong.get(place)
            either = f"{right.words} if right" + (f", {wrong.words} if wrong" if wrong else "")
            rows.append(f"    {place}: " + (f"{right.words} either way" if right == wrong else either))
        return "\n".join(rows)


def is_read(row: Mapping[str, Any]) -> bool:
    """Whether something is read in a step; else it is a look only."""
    return any(row.get(key) for key in ("condition", "setting", "restored", "legs", "joint", "own", "shown"))


def is_live(row: Mapping[str, Any]) -> bool:
    """Whether a step needs a fed board."""
    unfed = row.get("setting", "volts") in COLD or any(row.get(key) for key in ("legs", "joint", "own"))
    return is_read(row) and not unfed


@dataclass(frozen=True, slots=True)
class Asking:
    """One fault to be confirmed: where it shows (``telling``, in the state of ``base``), and what looks like it."""

    circuit: Circuit
    part: Part
    fault: Fault
    meter: Meter
    base: Expectation
    telling: tuple[str, ...]
    alike: tuple[str, ...]

    def step(self, row: Mapping[str, Any]) -> Step | None:
        """A row of the table on this circuit; None where it has nothing to read here."""
        names = self._names()
        say, condition = (str(row.get(key, "")).format(**names) for key in ("say", "condition"))
        own = caution_rule(row["caution"]).say if "caution" in row else ""
        if not is_read(row):
            return Step(say, cautions=(own,) if own else ())
        setting = str(row.get("setting", "volts"))
        bands: Mapping[str, tuple[Band, Band]]
        if row.get("legs"):
            setting, bands = self._legs(condition, row["legs"])
            say += "".join(f": {READ[setting]} {at}" for at in bands)
        elif row.get("joint"):
            setting, bands = "ohms", self._joints()
        elif row.get("own"):
            setting, bands = "value", own_bands(self.part, self.fault)
        else:
            bands = self._bands(row, condition, setting, names)
        if not bands:
            return None
        if setting == "volts" and self.base.state != self.circuit.state(None).name:
            say = f"{say} (in the state {self.base.state.replace('_', ' ')})"
        acts = bool(condition or row.get("restored"))
        mind = self._cautions(own, condition, setting, row)
        right, wrong = ({at: pair[k] for at, pair in bands.items()} for k in (0, 1))
        return Step(say, right, wrong, mind, condition, setting, acts)

    def _names(self) -> dict[str, str]:
        """What stands between braces in the table."""
        part = self.part
        names = {"part": part.name, "out": output(part), "a": part.nodes[0], "b": part.nodes[-1]}
        names |= {f"pin{i + 1}": f"{part.name}.{pin}" for i, pin in enumerate(part.pins)}
        if part.kind in "QM":
            names["b"] = part.nodes[2]
        hanging = [pin for pin, at in zip(part.pins, part.nodes, strict=True) if at != part.nodes[-1]]
        names["alone"] = " and ".join(f"{part.name}.{pin} lifted" for pin in hanging)
        return names | {"between": " to ".join(self.fault.pins[:2])}

    def _told(self, condition: str, setting: str) -> Expectation:
        state = None if setting in COLD else self.base.state
        return told_of(self.circuit, condition, state, setting, self.meter)

    def _bands(
        self, row: Mapping[str, Any], condition: str, setting: str, names: Mapping[str, str]
    ) -> dict[str, tuple[Band, Band]]:
        """(right, wrong) at the place that a row names, else wherever the fault shows."""
        told, fault = self._told(condition, setting), str(self.fault)
        if row.get("across") or "at" in row:
            place = self.part.name if row.get("across") else str(row["at"]).format(**names)
            return {place: (told[place].under(fault), told[place].healthy)}
        if row.get("shown"):
            own = [at for at in self.telling if at in self.part.nodes]
            return {at: (told[at].under(fault), told[at].healthy) for at in own or self.telling}
        return {
            at: (told[at].healthy if row.get("restored") else told[at].under(fault), self._otherwise(told, at))
            for at in self.telling
        }

    def _otherwise(self, told: Expectation, at: str) -> Band:
        """What is read when another part is it; where none looks like this one, nothing changes."""
        others = [f for f in self.alike if self.part.name not in self.circuit.fault(f)[0].parts]
        return hull(told[at].under(f) for f in others) if others else self.base[at].under(str(self.fault))

    def _legs(self, condition: str, settings: Collection[str]) -> tuple[str, dict[str, tuple[Band, Band]]]:
        """The setting, and the two legs (red, black) of the part between which right and wrong differ most clearly."""
        best: tuple[int, str, dict[str, tuple[Band, Band]]] = (0, "ohms", {})
        pins = list(zip(self.part.pins, self.part.nodes, strict=True))
        if self.part.kind in "QM":  # its path first, then what controls it
            pins = [pins[0], pins[2], pins[1], *pins[3:]]
        pairs = [(red, black) for red, at in pins for black, to in pins if red != black and at != to]
        for setting in settings:
            told = self._told(condition, setting)
            for red, black in pairs:
                at = f"{self.part.name}.{red} to {self.part.name}.{black}"
                right, wrong = told[at].under(str(self.fault)), told[at].healthy
                if (well := clarity(right, wrong)) > best[0]:
                    best = well, setting, {at: (right, wrong)}
            if best[0] == 3:
                break
        return best[1:]

    def _joints(self) -> dict[str, tuple[Band, Band]]:
        """Ohms from a leg to its own pad: the joint in question, or those that look like this fault."""
        mine = self.fault.mode == "joint open"
        pins = self.fault.pins if mine else [p for f in self.alike for p in self._joint(f)]
        bands = {}
        for pin in pins:
            at = f"{pin} to {self.part.node_at(pin.rpartition('.')[2])}"
            broken = self._told(f"{pin} lifted", "ohms")[at].healthy
            whole = self._told("", "ohms")[at].healthy
            bands[at] = (broken, whole) if mine else (whole, broken)
        return bands

    def _joint(self, fault: str) -> tuple[str, ...]:
        """The pin of a fault that is an open joint of this part."""
        other = self.circuit.fault(fault)[0]
        return other.pins if other.mode == "joint open" and other.parts == (self.part.name,) else ()

    def _cautions(self, own: str, condition: str, setting: str, row: Mapping[str, Any]) -> tuple[str, ...]:
        """What to mind: by what is done to the board, by the setting, and what only this step needs."""
        acts = [ACTS[word] for word in condition.split() if word in ACTS] + (["power"] if row.get("restored") else [])
        acts = ["solder"] if "{alone}" in str(row.get("condition", "")) or row.get("own") else acts
        cold = setting in COLD or setting == "value"
        acts += ["ohms" if setting == "value" else setting] if cold or not acts else []
        at = (self.part.name, *self.part.nodes, *self._beside())
        told = [c for act in acts for c in cautions(self.circuit, act, at=at)]
        return tuple(dict.fromkeys([*filter(None, [own]), *(c.say for c in told)]))

    def _beside(self) -> tuple[str, ...]:
        """Parts that touch the nodes of the suspect, ground aside."""
        ends = set(self.part.nodes) - {"0"}
        return tuple(p.name for p in self.circuit.netlist.values() if ends & set(p.nodes))


def output(part: Part) -> str:
    """PART.pin of a block's output, or nothing."""
    if part.block is None:
        return ""
    return next((f"{part.name}.{n}" for n, f in part.block.pin_facts.items() if f.role == "out"), "")
