"""One notebook open in the lab, with what a person does to it and what a test wants to know."""

from typing import Any

from playwright.sync_api import ConsoleMessage, Page, Request

READY = """() => {
    const shown = window.jupyterapp?.shell.currentWidget, kernel = shown?.sessionContext?.session?.kernel;
    return !!(kernel && shown.sessionContext.isReady && kernel.connectionStatus === 'connected'
              && kernel.status === 'idle');
}"""
RUN_ALL = """() => {
    window.allRan = '';
    window.jupyterapp.commands.execute('notebook:run-all-cells').then(
        () => { window.allRan = 'yes'; }, error => { window.allRan = String(error); });
}"""
NOT_RUN = """() => [...window.jupyterapp.shell.currentWidget.content.model.cells].filter(
    cell => cell.type === 'code' && cell.executionCount == null && cell.sharedModel.getSource().trim()).length"""
TROUBLE = """() => [...window.jupyterapp.shell.currentWidget.content.model.cells].flatMap(
    cell => cell.type !== 'code' ? [] : cell.outputs.toJSON()).filter(
    out => out.output_type === 'error' || out.name === 'stderr').map(
    out => out.text || (out.ename + ': ' + out.evalue))"""
STOP_KERNELS = """() => Promise.race([
    window.jupyterapp.serviceManager.sessions.shutdownAll().then(() => null),
    new Promise(done => setTimeout(done, 5000))])"""


class Sheet:
    """A notebook in a page. ``strays`` are requests that left this computer, ``complaints`` the page's own errors."""

    def __init__(self, page: Page, url: str) -> None:
        self.page = page
        self.url = url
        self.strays: list[str] = []
        self.complaints: list[str] = []
        page.on("request", self._asked)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("console", self._said)

    def _asked(self, request: Request) -> None:
        if not request.url.startswith((self.url, self.url.replace("http", "ws", 1), "data:", "blob:")):
            self.strays.append(request.url)

    def _said(self, message: ConsoleMessage) -> None:
        if message.type == "error" and "shouldread" in message.text.lower():
            self.complaints.append(message.text)

    def open(self, name: str) -> None:
        """Show the notebook of that file name, in a fresh layout, until its kernel is idle."""
        self.page.goto(f"{self.url}/lab/tree/{name}?reset")
        self.page.wait_for_selector(".jp-Notebook .jp-Cell", timeout=90_000)
        self.page.wait_for_function(READY, timeout=90_000)

    def command(self, name: str, arguments: dict[str, Any] | None = None) -> None:
        """Run a command of the lab and wait for it."""
        code = "([name, given]) => window.jupyterapp.commands.execute(name, given).then(() => null)"
        self.page.evaluate(code, [name, arguments or {}])

    def run_all(self, seconds: float = 180) -> None:
        """Run every cell; a cell that did not run, an error or words on stderr fail the test."""
        self.page.evaluate(RUN_ALL)
        self.page.wait_for_function("() => window.allRan", timeout=seconds * 1000)
        assert self.page.evaluate("() => window.allRan") == "yes"
        trouble = self.page.evaluate(TROUBLE)
        assert not trouble, "\n".join(trouble)
        assert self.page.evaluate(NOT_RUN) == 0

    def save(self) -> None:
        self.command("docmanager:save")

    def stop_kernels(self) -> None:
        """End all kernels from inside the page, which carries the server's cookie."""
        self.page.evaluate(STOP_KERNELS)
