"""How a page can look: rooms, themes and forced colours, changed under a screen that lives; and what to find there."""

from collections.abc import Iterator

from axe_playwright_python.sync_playwright import Axe

from tests.browser.sheet import Sheet

WIDTHS = {848: 1280, 468: 900}  # room of a cell's output in a window of that width, file browser open
ZOOMED = {272: 640}  # the room that is left of 1280 dots at 200 %
THEME = "name => window.jupyterapp.commands.execute('apputils:change-theme', { theme: name }).then(() => null)"
THEMES = {"light": "JupyterLab Light", "dark": "JupyterLab Dark"}
ROOM = """() => (document.querySelector('.shouldread') || document.querySelector('[data-shouldread-saved]')).clientWidth"""
OVERFLOW = """() => [...document.querySelectorAll('.shouldread')].flatMap(root => {
    const right = root.getBoundingClientRect().right + 2;
    return [...root.querySelectorAll('*')].filter(e => {
        const box = e.getBoundingClientRect();
        return box.width > 0 && box.right > right && !e.closest('.sr-scroll') && getComputedStyle(e).opacity !== '0';
    });
}).map(e => e.className || e.tagName).slice(0, 5)"""


def turn(sheet: Sheet, room: int, height: int = 4400) -> None:
    """Make the window so wide that a screen has that much room; the screen stays as it is."""
    width = WIDTHS.get(room) or ZOOMED[room]
    for _ in range(6):  # the lab shares a narrower window out anew between file browser and notebook
        sheet.page.set_viewport_size({"width": width, "height": height})
        over = _settled(sheet) - room
        if abs(over) <= 4:
            return
        width -= over
    raise AssertionError(f"no window gives a room of {room}: {over} too much at {width}")


def _settled(sheet: Sheet) -> int:
    """The room once it stays the same."""
    was, now = -1, -2
    while was != now:
        sheet.page.wait_for_timeout(150)
        was, now = now, int(sheet.page.evaluate(ROOM))
    return now


def looks(sheet: Sheet, rooms: dict[int, int] = WIDTHS) -> Iterator[tuple[int, str]]:
    """Every room in every theme; the lab is left light, as it keeps the theme for the next page."""
    for theme in reversed(THEMES):
        sheet.page.evaluate(THEME, THEMES[theme])
        for room in rooms:
            turn(sheet, room)
            yield room, theme


def overflow(sheet: Sheet) -> list[str]:
    """What sticks out of a screen to the right."""
    return list(sheet.page.evaluate(OVERFLOW))


def violations(sheet: Sheet) -> list[str]:
    """What assistive tools would stumble over (WCAG 2.0 and 2.1, levels A and AA)."""
    found = Axe().run(sheet.page, context=".shouldread", options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa"]})
    return [f"{v['id']}: {node['html'][:200]}" for v in found.response["violations"] for node in v["nodes"]]
