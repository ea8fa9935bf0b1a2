"""Circuit: parts, nodes and what the kit knows of them. Frozen; every change gives a new one."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from shouldread.circuit.join import join
from shouldread.circuit.names import folded
from shouldread.circuit.nouns import KnownReading, NodeFacts, State
from shouldread.circuit.parameters import revalued_params
from shouldread.circuit.spice import to_spice
from shouldread.errors import RequestError, UnknownNameError
from shouldread.faults import Fault, condition_edits, fault_edits, read_conditions, read_fault, single_faults
from shouldread.parts import KINDS, Block, Edit, Model, Part
from shouldread.quantities import Spread, read_spread

COLD = State("cold")


@dataclass(frozen=True, slots=True)
class Circuit:
    """A circuit file, read. ``netlist`` holds the parts by name; names keep their first spelling."""

    name: str
    title: str
    netlist: Mapping[str, Part]
    about: str = ""
    models: Mapping[str, Model] = field(default_factory=dict)
    blocks: Mapping[str, Block] = field(default_factory=dict)
    state_table: Mapping[str, State] = field(default_factory=lambda: {"run": State("run")})
    node_facts: Mapping[str, NodeFacts] = field(default_factory=dict)
    rest: str = "none"
    readings: tuple[KnownReading, ...] = ()
    hints: Mapping[str, object] = field(default_factory=dict)
    facts: Mapping[str, object] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    neighbours: tuple[tuple[str, str], ...] = ()
    params: Mapping[str, float] = field(default_factory=dict)
    given: Mapping[str, Spread] = field(default_factory=dict)  # params that with_values has set
    reread: "Callable[[Mapping[str, Spread]], Circuit] | None" = field(default=None, compare=False, repr=False)
    text: str = ""
    edits: tuple[Edit, ...] = ()
    fault_names: tuple[str, ...] = ()
    condition_names: tuple[str, ...] = ()

    @property
    def nodes(self) -> tuple[str, ...]:
        """Every node, ground (``0``) first, then in the order of the file."""
        return tuple(dict.fromkeys(["0", *(n for part in self.netlist.values() for n in part.nodes)]))

    @property
    def parts(self) -> tuple[str, ...]:
        """Names of all parts in the order of the file."""
        return tuple(self.netlist)

    @property
    def states(self) -> tuple[str, ...]:
        """Names of the states, the default first; ``cold`` always exists and is not listed."""
        return tuple(name.replace("_", " ") for name in self.state_table)

    @property
    def single_faults(self) -> tuple[Fault, ...]:
        """Every single fault considered, as data."""
        return single_faults(self.netlist.values(), self.neighbours)

    @property
    def faults(self) -> tuple[str, ...]:
        """Every single fault considered, in canonical spelling."""
        return tuple(map(str, self.single_faults))

    def _is_param(self, name: str) -> bool:
        own = name.strip().casefold()
        return own in self.params and own not in (part.casefold() for part in self.netlist)

    def part(self, name: str, *, also: Iterable[str] = ()) -> Part:
        """A part by name in any case. Raises UnknownNameError with the nearest, ``also`` among other names."""
        hit = self.netlist.get(name)
        if hit is None:
            hit = next((p for k, p in self.netlist.items() if k.casefold() == name.strip().casefold()), None)
        if hit is None:
            raise UnknownNameError("part", name, (*self.parts, *also), self.name)
        return hit

    def node(self, name: str) -> str:
        """A node's first spelling, by name in any case; ``GND`` and ``ground`` are ``0``. Raises UnknownNameError."""
        key = name.strip().casefold()
        if key in ("0", "gnd", "ground"):
            return "0"
        for node in self.nodes:
            if node.casefold() == key:
                return node
        raise UnknownNameError("node", name, [n for n in self.nodes if n != "0"], self.name)

    def state(self, name: str | None = None) -> State:
        """A state by name (None: the first). ``cold`` is nothing fed. Raises UnknownNameError with the nearest."""
        if name is None:
            return next(iter(self.state_table.values()))
        if folded(name) == "cold":
            return COLD
        for key, state in self.state_table.items():
            if folded(key) == folded(name):
                return state
        raise UnknownNameError("state", name, (*self.states, "cold"), self.name)

    def fault(self, name: str | Fault) -> tuple[Fault, ...]:
        """The fault or faults that a text names (``R3 drifted`` names two)."""
        return (
            (name,) if isinstance(name, Fault) else read_fault(name, self.netlist.values(), neighbours=self.neighbours)
        )

    def with_fault(self, name: str | Fault) -> "Circuit":
        """The same circuit with a fault in it, for good."""
        fault = self.fault(name)[0]
        edits = fault_edits(fault, self.netlist.values())
        return replace(self, edits=self.edits + edits, fault_names=(*self.fault_names, str(fault)))

    def with_condition(self, text: str) -> "Circuit":
        """The same circuit with something done to it: ``L1 bridged``, ``R2 lifted and C1 removed``."""
        conditions = read_conditions(text, self.netlist.values(), self.nodes)
        edits = tuple(e for c in conditions for e in condition_edits(c, self.netlist.values()))
        names = tuple(map(str, conditions))
        return replace(self, edits=self.edits + edits, condition_names=(*self.condition_names, *names))

    def with_values(self, values: Mapping[str, float | str] | None = None, **more: float | str) -> "Circuit":
        """The same circuit with other values: ``with_values(R3="22k 5%", VAUX="11.6")``.

        A plain value keeps the part's spread; one with ``%`` or ``..`` brings its own. The name of a ``.param`` is
        taken as well: every part whose value hangs on it follows. Raises UnknownNameError, RequestError for a part
        that has no value, QuantityError.
        """
        asked = {**(values or {}), **more}
        given = {name.casefold(): asked.pop(name) for name in list(asked) if self._is_param(name)}
        if given:
            return revalued_params(self, given).with_values(asked)
        netlist = dict(self.netlist)
        for name, value in asked.items():
            part = self.part(name, also=self.params)
            if part.value is None:
                raise RequestError(
                    f"{part.name} is a {KINDS[part.kind].name} and has no value of its own", value=value
                )
            netlist[part.name] = _revalued(part, value)
        return replace(self, netlist=netlist)

    def join(self, other: "Circuit", *, connect: Mapping[str, str], prefix: str = "") -> "Circuit":
        """This circuit and another stage on one board; ``connect``: {own node: the other's node}, ground is shared.

        The other's parts and nodes get ``prefix``; its sources on joined nodes are left out, with a note. States
        of one name are one; where one circuit has no such state, its first one stands. Raises UnknownNameError,
        RequestError for names that both use.

        >>> from shouldread.circuit import load_circuit
        >>> feed = load_circuit("* feed\\nV1 IN 0 12\\nL1 IN OUT 10u\\n")
        >>> lamp = load_circuit("* lamp\\nV1 A 0 5\\nR1 A 0 1k\\n")
        >>> feed.join(lamp, connect={"OUT": "A"}, prefix="B_").parts
        ('V1', 'L1', 'B_R1')
        """
        return join(self, other, connect, prefix)

    def __str__(self) -> str:
        rows = [self.title or self.name, *([self.about] if self.about else [])]
        rows.append(f"Parts: {', '.join(self.parts)}")
        rows.append(f"Nodes: {', '.join(node for node in self.nodes if node != '0')}")
        rows.append(f"States: {', '.join(self.states)}; {len(self.faults)} single faults")
        put_in = (*self.fault_names, *(f"with {name}" for name in self.condition_names))
        return "\n".join([*rows, *([f"In it: {'; '.join(put_in)}"] if put_in else [])])

    def to_spice(
        self,
        state: str | None = None,
        *,
        fault: str | Fault | None = None,
        condition: str | None = None,
        meter_at: str | tuple[str, str] | None = None,
        meter_ohms: float = 10e6,
        bits: Mapping[str, int] | None = None,
    ) -> str:
        """A netlist that ngspice runs unmodified: the circuit in a state, with fault, condition and meter.

        ``bits``: switch elements that are on (``Solution.bits``); None: as they are reached. Raises UnknownNameError.

        >>> from shouldread.circuit import load_circuit
        >>> print(load_circuit("* lamp\\nV1 A 0 12\\nR1 A 0 1k\\n").to_spice(fault="R1 open"))
        * lamp
        V1 A 0 12.0
        R1 R1_1_open 0 1000.0
        .options reltol=1e-9 vntol=1e-10 abstol=1e-12 itl1=500
        .op
        .end
        <BLANKLINE>
        """
        return to_spice(
            self,
            state=state,
            fault=fault,
            condition=condition,
            meter_at=meter_at,
            meter_ohms=meter_ohms,
            bits=bits,
        )


def _revalued(part: Part, value: float | str) -> Part:
    """The part with another value; one that brings its own spread no longer varies with a parameter."""
    assert part.value is not None
    kind = KINDS[part.kind]
    spread = (
        read_spread(str(value), kind.unit, kind.unreadable) if isinstance(value, str) else Spread.exact(float(value))
    )
    if spread.law == "exact" and part.value.law != "exact":
        return replace(part, value=part.value.around(spread.nominal))
    own = {key: fact for key, fact in part.facts.items() if key != "param"}
    return replace(part, value=spread, facts=own if spread.law != "exact" else part.facts)


def pairs(rows: Iterable[object]) -> tuple[tuple[str, str], ...]:
    """Neighbour pairs as a file writes them: ``[["A", "B"], ...]``."""
    return tuple((str(r[0]), str(r[1])) for r in rows if isinstance(r, list | tuple) and len(r) == 2)
