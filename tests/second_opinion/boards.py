"""Random boards: common stages of random values on shared rails, and tangles of parts between random nodes."""

import random
from collections.abc import Callable

MODELS = """.model QN NPN(IS=7e-15 BF=180 VAF=80 BR=4 RC=0.8 RB=10 RE=0.1 IKF=0.08 NE=1.5 ISE=1e-14)
.model QP PNP(IS=1e-14 BF=150 VAF=60 VAR=20 BR=3 IKR=0.1 NC=1.8 ISC=1e-13)
.model QD NPN(IS=1e-14 BF=300)
.model DS D(IS=4e-9 N=1.8 RS=0.6 BV=75 IBV=5u)
.model DK D(IS=1e-7 N=1.05 RS=0.1)
.model DZ D(IS=1e-13 N=1 BV=5.1 IBV=5m NBV=1.2)
.model DL D(IS=1e-18 N=2 RS=5)
.model MN NMOS(LEVEL=1 VTO=1.5 KP=0.2 LAMBDA=0.01 GAMMA=0.4 PHI=0.7 RD=0.05 RS=0.02)
.model MP PMOS(LEVEL=1 VTO=-1.2 KP=1 LAMBDA=0.02 IS=1e-13)
.model SW SW(VT=1.5 VH=0.2 RON=1 ROFF=1e8)
"""
E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
Lines = list[str]


class Draw:
    """Draws values, names and nodes."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.count = 0

    def ohms(self, low: int = 2, high: int = 5) -> str:
        return f"{self.random.choice(E12):g}e{self.random.randint(low, high)}"

    def node(self) -> str:
        self.count += 1
        return f"n{self.count}"

    def name(self, letter: str) -> str:
        self.count += 1
        return f"{letter}{self.count}"


def inverter(d: Draw, feed: str, drive: str) -> tuple[Lines, str]:
    b, c = d.node(), d.node()
    return [
        f"{d.name('R')} {drive} {b} {d.ohms(3, 4)}",
        f"{d.name('R')} {b} 0 {d.ohms(4, 5)}",
        f"{d.name('R')} {feed} {c} {d.ohms(3, 4)}",
        f"{d.name('Q')} {c} {b} 0 {d.random.choice(('QN', 'QD'))}",
    ], c


def high_side(d: Draw, feed: str, drive: str) -> tuple[Lines, str]:
    g, c, out = d.node(), d.node(), d.node()
    return [
        f"{d.name('R')} {feed} {g} {d.ohms(4, 5)}",
        f"{d.name('R')} {g} {c} {d.ohms(3, 4)}",
        f"{d.name('M')} {c} {drive} 0 0 MN W=1 L=1",
        f"{d.name('M')} {out} {g} {feed} {feed} MP W=2 L=1",
        f"{d.name('D')} {g} {feed} DZ",
        f"{d.name('R')} {out} 0 {d.ohms(1, 3)}",
    ], out


def follower(d: Draw, feed: str, drive: str) -> tuple[Lines, str]:
    z, out, led = d.node(), d.node(), d.node()
    return [
        f"{d.name('R')} {feed} {z} {d.ohms(2, 4)}",
        f"{d.name('D')} 0 {z} DZ",
        f"{d.name('Q')} {feed} {z} {out} QN",
        f"{d.name('R')} {out} 0 {d.ohms(2, 3)}",
        f"{d.name('D')} {out} {led} DL",
        f"{d.name('R')} {led} {drive} {d.ohms(2, 4)}",
    ], out


def latch(d: Draw, feed: str, drive: str) -> tuple[Lines, str]:
    c1, c2, b1, b2 = (d.node() for _ in range(4))
    return [
        f"{d.name('R')} {feed} {c1} {d.ohms(3, 3)}",
        f"{d.name('R')} {feed} {c2} {d.ohms(3, 3)}",
        f"{d.name('R')} {c1} {b2} {d.ohms(4, 4)}",
        f"{d.name('R')} {c2} {b1} {d.ohms(4, 4)}",
        f"{d.name('R')} {drive} {b1} {d.ohms(5, 6)}",
        f"{d.name('Q')} {c1} {b1} 0 QN",
        f"{d.name('Q')} {c2} {b2} 0 QN",
    ], c1


def mirror(d: Draw, feed: str, drive: str) -> tuple[Lines, str]:
    b, out = d.node(), d.node()
    return [
        f"{d.name('R')} {b} {drive} {d.ohms(3, 5)}",
        f"{d.name('Q')} {b} {b} {feed} QP",
        f"{d.name('Q')} {out} {b} {feed} QP 2",
        f"{d.name('R')} {out} 0 {d.ohms(2, 4)}",
    ], out


def either_feed(d: Draw, feed: str, drive: str) -> tuple[Lines, str]:
    out = d.node()
    return [
        f"{d.name('D')} {feed} {out} DK",
        f"{d.name('D')} {drive} {out} DS",
        f"{d.name('R')} {out} 0 {d.ohms(2, 4)}",
    ], out


def regulator(d: Draw, feed: str, drive: str) -> tuple[Lines, str]:
    fb, out, en = d.node(), d.node(), d.node()
    kind = d.random.choice(("REGULATOR", "BUCK", "REGULATOR"))
    return [
        f"{d.name('R')} {drive} {en} {d.ohms(4, 5)}",
        f"{d.name('R')} {en} 0 {d.ohms(4, 5)}",
        f"{d.name('X')} {feed} {en} {fb} {out} 0 {kind}",
        f"{d.name('R')} {out} {fb} {d.ohms(4, 4)}",
        f"{d.name('R')} {fb} 0 {d.ohms(4, 4)}",
        f"{d.name('R')} {out} 0 {d.ohms(1, 3)}",
    ], out


def load_switch(d: Draw, feed: str, drive: str) -> tuple[Lines, str]:
    out = d.node()
    return [f"{d.name('X')} {feed} {drive} {out} 0 LOAD_SWITCH", f"{d.name('R')} {out} 0 {d.ohms(1, 4)}"], out


def comparator(d: Draw, feed: str, drive: str) -> tuple[Lines, str]:
    ref, out = d.node(), d.node()
    return [
        f"{d.name('R')} {feed} {ref} {d.ohms(4, 5)}",
        f"{d.name('R')} {ref} 0 {d.ohms(3, 4)}",
        f"{d.name('X')} {drive} {ref} {out} 0 COMPARATOR hys={d.random.choice((0.01, 0.1, 0.5))}",
        f"{d.name('R')} {feed} {out} {d.ohms(3, 5)}",
        f"{d.name('R')} {out} {d.random.choice((drive, ref))} {d.ohms(4, 6)}",
    ], out


def amplifier(d: Draw, feed: str, drive: str) -> tuple[Lines, str]:
    m, out = d.node(), d.node()
    return [
        f"{d.name('X')} {drive} {m} {out} {feed} 0 AMPLIFIER",
        f"{d.name('R')} {out} {m} {d.ohms(3, 5)}",
        f"{d.name('R')} {m} 0 {d.ohms(3, 5)}",
    ], out


def gains(d: Draw, feed: str, drive: str) -> tuple[Lines, str]:
    e, g, out = d.node(), d.node(), d.node()
    return [
        f"{d.name('E')} {e} {drive} {drive} 0 {d.random.choice((0.5, -0.2, 1.5))}",
        f"{d.name('R')} {e} {out} {d.ohms(2, 4)}",
        f"{d.name('G')} 0 {g} {feed} {drive} {d.random.choice((1e-3, 1e-4))}",
        f"{d.name('R')} {g} {out} {d.ohms(2, 4)}",
        f"{d.name('R')} {g} 0 {d.ohms(2, 3)}",
        f"{d.name('V')} {out} {d.node()} {d.random.choice((0, 0.7, 2.5))}",
    ], out


def isolated(d: Draw, feed: str, drive: str) -> tuple[Lines, str]:
    a, out = d.node(), d.node()
    return [
        f"{d.name('R')} {drive} {a} {d.ohms(2, 3)}",
        f"{d.name('X')} {a} 0 {out} 0 OPTOCOUPLER",
        f"{d.name('R')} {feed} {out} {d.ohms(3, 4)}",
        f"{d.name('L')} {out} {d.node()} 10u",
    ], out


def contact(d: Draw, feed: str, drive: str) -> tuple[Lines, str]:
    out = d.node()
    return [f"{d.name('S')} {feed} {out} {drive} 0 SW", f"{d.name('R')} {out} 0 {d.ohms(2, 4)}"], out


STAGES: tuple[Callable[[Draw, str, str], tuple[Lines, str]], ...] = (
    inverter,
    high_side,
    follower,
    latch,
    mirror,
    either_feed,
    regulator,
    load_switch,
    comparator,
    amplifier,
    gains,
    isolated,
    contact,
)


def staged(
    seed: int, most: int = 6, stages: tuple[Callable[[Draw, str, str], tuple[Lines, str]], ...] = STAGES
) -> str:
    """Stages on one or two rails, each driven by an earlier one."""
    d = Draw(seed)
    volts = d.random.choice((5, 12, 12, 24))
    lines = [f"V1 IN 0 {volts}", "R1 IN RAIL 0.05", "V2 LOGIC 0 3.3", "L1 RAIL RAIL2 10u"]
    if d.random.random() < 0.3:
        lines[0] = f"X1 IN 0 SUPPLY vset={volts} ilim={d.random.choice((0.1, 0.5, 2))}"
    feeds, drives = ["RAIL", "RAIL2", "LOGIC"], ["LOGIC", "RAIL", "0"]
    for _ in range(d.random.randint(1, most)):
        more, out = d.random.choice(stages)(d, d.random.choice(feeds), d.random.choice(drives))
        lines += more
        drives.append(out)
    return "\n".join([f"* stages {seed}", *lines, MODELS, ".end", ""])


def tangled(seed: int, parts: int = 14) -> str:
    """Parts between random nodes: nobody would build it, a fault might."""
    d = Draw(seed)
    nodes = ["0", "A", *(f"t{k}" for k in range(d.random.randint(3, 8)))]

    def some(count: int) -> str:
        return " ".join(d.random.sample(nodes, count))

    makers = (
        lambda: f"{d.name('R')} {some(2)} {d.ohms(1, 6)}",
        lambda: f"{d.name('R')} {some(2)} {d.ohms(2, 4)}",
        lambda: f"{d.name('D')} {some(2)} {d.random.choice(('DS', 'DK', 'DZ', 'DL'))}",
        lambda: f"{d.name('Q')} {some(3)} {d.random.choice(('QN', 'QP', 'QD'))}",
        lambda: f"{d.name('M')} {some(4)} {d.random.choice(('MN', 'MP'))} W=1 L=1",
        lambda: f"{d.name('S')} {some(4)} SW",
        lambda: f"{d.name('I')} {some(2)} {d.random.choice((1e-3, 1e-5))}",
        lambda: f"{d.name('G')} {some(4)} {d.random.choice((1e-3, 1e-5))}",
    )
    lines = ["V1 A 0 9", *(d.random.choice(makers)() for _ in range(parts))]
    return "\n".join([f"* tangle {seed}", *lines, MODELS, ".end", ""])
