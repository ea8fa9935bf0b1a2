"""What a technician does on each screen, for tests that look at it and for pictures of it."""

from tests.browser.bench import Bench
from tests.browser.conftest import SHOTS

RAILS = (
    ("12V nominal 12 ± 5 %", "12.1"),
    ("5V nominal 5 ± 5 % from 12V made by U3 enabled by EN5", "0.00"),
    ("3V3 from 5V made by U4", "0.00"),
    ("1V8 from 3V3 made by U5", ""),
    ("proc from 3V3", "0.02"),
    ("EXP_1V8 from EXP_3V3", ""),
)
LINES = (
    "J1 from 12V_AUX to AUX_IN",
    "R? from AUX_IN to AUX_S shunt 10m",
    "L1 from AUX_S to FEED 10u",
    "R? from FEED to Q7.2 47k",
    "Q7 npn pair | npn prebiased pair 1 GND 4 GND 6 X 3 EN",
    "R? from Q7.2 to GND? ?",
    "R? from 12V_MAIN to X 47k",
    "R? from X to Q7.5 10k",
    "R? from 12V_MAIN to EN 42q",
    "VMAIN at 12V_MAIN 12",
)


def read_stage(bench: Bench) -> None:
    bench.thought()
    for place, value in (("12V_AUX", "12.1"), ("FEED", "0.58"), ("EN", "0.02")):
        bench.place(place).click()
        bench.typed(value)
    bench.all_saved()
    bench.verdict("EN").get_by_text("too low").wait_for(timeout=60_000)
    bench.root.locator(".sr-rest summary", has_text="taken so far: 3").wait_for(timeout=60_000)


def read_rails(bench: Bench) -> None:
    bench.field("board").fill("GH-CTRL-2")
    bench.field("symptom").click()
    bench.typed("nothing spins, no lamp")
    for name, value in (("supply volts", "12"), ("supply limit", "0.5"), ("supply amps", "0.02")):
        bench.field(name).click()
        bench.typed(value)
    bench.all_saved()
    for line, value in RAILS:
        name, _, facts = line.partition(" ")
        bench.field("new rail").click()
        bench.typed(f"{name} {value}" if value else name)
        if not value:
            bench.page.keyboard.press("Enter")
        bench.all_saved()
        row = bench.root.locator(".sr-rails tbody tr", has_text=name).first
        row.wait_for(timeout=30_000)
        row.locator("input.sr-facts").click()
        bench.typed(facts)
        bench.all_saved()
    bench.field("reading line").click()
    bench.typed("U3.VIN 12.1; EN5 0.02")
    bench.all_saved()
    bench.root.locator(".sr-finding", has_text="First wrong rail: 5V").wait_for(timeout=30_000)


def shot(bench: Bench, name: str) -> None:
    """A picture of the whole bench, for whoever wants to look."""
    SHOTS.mkdir(exist_ok=True)
    bench.page.wait_for_timeout(300)
    bench.root.screenshot(path=SHOTS / f"{name}.png")


def trace_stage(bench: Bench) -> None:
    """A stage traced so far: a value nobody can read, an unsure end, a mistake, a feed that is missing."""
    bench.field("tab trace").click()
    bench.field("stage name").click()
    bench.typed("Enable of the 5 V converter")
    for line in LINES:
        bench.field("part").click()
        bench.typed(line)
        bench.all_saved()
    bench.root.locator(".sr-parts .sr-wrong", has_text="write its value last").wait_for(timeout=30_000)
    bench.root.locator(".sr-trace .sr-picture text", has_text="EN").first.wait_for(timeout=30_000)


def suppose_and_confirm(bench: Bench) -> None:
    """One suspect supposed, and how to confirm it."""
    bench.root.locator(".sr-fault", has_text="L1 open").first.click()
    bench.root.locator(".sr-quiet", has_text="how to confirm").first.click()
    bench.root.locator(".sr-confirm li").first.wait_for(timeout=60_000)
    bench.root.locator(".sr-points .sr-under", has_text="V").nth(1).wait_for(timeout=60_000)


def move_a_value(bench: Bench) -> None:
    """The slider of a part, moved."""
    bench.field("What if").select_option("R1")
    bench.field("what if value").focus()
    for _ in range(5):
        bench.page.keyboard.press("PageUp")
    bench.root.locator(".sr-points thead th", has_text="with R1 at").wait_for(timeout=60_000)
    bench.page.wait_for_timeout(1500)


def prove_board(bench: Bench) -> None:
    """A board proved by half: what was entered is judged, the rest stands open."""
    bench.thought()
    bench.field("tab proof").click()
    bench.root.locator("[data-line='power-up']").wait_for(timeout=180_000)
    bench.field("proof cause").click()
    bench.typed("L1 open")
    bench.all_saved()
    bench.field("proof confirmed").click()
    bench.typed("L1 bridged: FEED 12.1, EN 2.3")
    bench.all_saved()
    for line, text in (
        ("power-up", "not limiting"),
        ("EN", "2.3"),
        ("12V_AUX to FEED", "55 mV at 5.5 A"),
        ("stress", "10 min"),
    ):
        bench.root.locator(f"[data-line='{line}']").click()
        bench.typed(text)
        bench.all_saved()
    bench.root.locator(".sr-proof .sr-why", has_text="30 min are asked").wait_for(timeout=60_000)
