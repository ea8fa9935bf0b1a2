// Opens the bench with the start notebook: its one bench cell is run when the lab comes up with a fresh kernel.
// Nothing else is ever run: the cell's text must be exactly the line below, whatever else stands in the file.
(() => {
  const START = "00_start_here.ipynb";
  const CELL = "# bench\nimport shouldread as sr\n\nsr.bench()";
  const PATIENCE = 60000; // ms until the notebook must be there
  const STEP = 50;

  const pause = () => new Promise((done) => window.setTimeout(done, STEP));

  /** What `look` finds, or null when it finds nothing in time. */
  async function found(look) {
    for (let waited = 0; waited < PATIENCE; waited += STEP) {
      const hit = look();
      if (hit) return hit;
      await pause();
    }
    return null;
  }

  /** The start notebook, once it is shown in front. */
  function startNotebook(app) {
    const panel = app.shell.currentWidget;
    const path = panel && panel.context && panel.context.path;
    return path && path.split("/").pop() === START && panel.sessionContext ? panel : null;
  }

  /** Whether nothing was run yet in the notebook's kernel; after a reload of the page the bench still lives. */
  async function isFresh(panel) {
    const kernel = panel.sessionContext.session && panel.sessionContext.session.kernel;
    if (!kernel) return false;
    const reply = await kernel.requestExecute({ code: "", silent: true, store_history: false }).done;
    return reply.content.status === "ok" && reply.content.execution_count === 0;
  }

  async function openBench(app) {
    await app.restored;
    const panel = await found(() => startNotebook(app));
    if (!panel) return;
    await Promise.all([panel.context.ready, panel.sessionContext.ready]);
    const cells = [...panel.content.model.cells];
    const at = cells.findIndex((cell) => cell.type === "code");
    if (at < 0 || cells[at].sharedModel.getSource().trim() !== CELL || !(await isFresh(panel))) return;
    if (startNotebook(app) !== panel) return; // somebody went elsewhere meanwhile
    panel.content.activeCellIndex = at;
    panel.content.deselectAll();
    await app.commands.execute("notebook:run-cell");
    const line = await found(() => panel.node.querySelector(".shouldread[data-live] [data-name='reading line']"));
    if (line && startNotebook(app) === panel) line.focus({ preventScroll: true });
  }

  const plugin = {
    id: "shouldread:bench",
    description: "Opens the bench with the start notebook.",
    autoStart: true,
    activate: (app) => {
      openBench(app).catch((trouble) => console.warn("the bench was not opened by itself:", trouble));
    },
  };
  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB.shouldread = {
    init: () => Promise.resolve(),
    get: () => Promise.resolve(() => ({ __esModule: true, default: plugin })),
  };
})();
