"""What a learner does in JupyterLab, as functions of a playwright page."""

import nbformat

RUN_MS = 180_000


def write_notebook(lab, name, sources):
    """A notebook of code cells in the folder of ``lab``; its name."""
    cells = [nbformat.v4.new_code_cell(s, id=f"c{i}") for i, s in enumerate(sources)]
    kernel = {"display_name": "Python 3", "language": "python", "name": "python3"}
    made = nbformat.v4.new_notebook(cells=cells, metadata={"kernelspec": kernel})
    nbformat.write(made, lab.folder / name)
    return name


def open_notebook(page, lab, name):
    """Open a notebook alone and wait until its kernel is ready."""
    page.goto(lab.address(name, workspace=name.split(".")[0].replace("/", "-")))
    page.wait_for_selector(".jp-Notebook .jp-Cell", timeout=RUN_MS)
    page.locator("#jp-main-statusbar", has_text="| Idle").wait_for(timeout=RUN_MS)


def run_all(page):
    """Run every cell from the menu and wait until none is waiting or running."""
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    page.wait_for_function(
        """() => [...document.querySelectorAll('.jp-CodeCell')].every(c => {
            const p = c.querySelector('.jp-InputPrompt').textContent;
            const empty = !c.querySelector('.cm-content').textContent.trim();
            return /\\[\\d+\\]/.test(p) || empty})""",
        timeout=RUN_MS,
    )


def panel(page, number=0):
    """The panel that stands at ``number`` on the page, once its picture is there."""
    found = page.locator(".shed-panel").nth(number)
    found.locator("img").wait_for(timeout=RUN_MS)
    until_sharp(page, found)
    return found


def until_sharp(page, panel_at):
    """Wait until a panel's picture has been drawn for the box it stands in, dot by dot."""
    page.wait_for_function(
        """p => { const b = p.querySelector('.shed-box'), i = p.querySelector('img');
            const d = devicePixelRatio;
            return b && i.complete && Math.abs(b.clientWidth * d - i.naturalWidth) < 2
                && Math.abs(b.clientHeight * d - i.naturalHeight) < 2 }""",
        arg=panel_at.element_handle(),
        timeout=RUN_MS,
    )


def picture(panel_at):
    """Alternative text and data of the picture that is now in a panel."""
    image = panel_at.locator("img")
    return image.get_attribute("alt"), image.get_attribute("src")


def handle(panel_at, label):
    """The handle of the slider beside the number box called ``label``."""
    return panel_at.locator(".shed-row", has_text=label).locator(".noUi-handle")


def until_alt(page, panel_at, text):
    """Wait until the alternative text of a panel's picture holds ``text``."""
    element = panel_at.element_handle()
    page.wait_for_function(
        "([p, t]) => p.querySelector('img').alt.includes(t)", arg=[element, text], timeout=20_000
    )


def sources(page):
    """The text of every code cell, as it stands on the page."""
    return page.locator(".jp-CodeCell .jp-InputArea-editor .cm-content").all_inner_texts()


LOOK = """p => { window.seen = [];
    const cell = p.closest('.jp-Cell');
    const look = () => { const i = p.querySelector('img');
        window.seen.push([i ? i.src.slice(-200) + i.alt : '', i && i.complete ? i.naturalWidth : 0,
            Math.round(cell.getBoundingClientRect().height)]);
        window.looking = requestAnimationFrame(look) };
    look() }"""
"""An eye on a panel: what every frame of the browser shows from now on."""


def seen_frames(panel_at):
    """The frames since LOOK: (end of the picture and its words, its width, height of the cell)."""
    return panel_at.evaluate("() => { cancelAnimationFrame(window.looking); return window.seen }")


def live_trees(page):
    """What assistive technology is told of each live part: lists of role, name, focusable."""
    session = page.context.new_cdp_session(page)
    session.send("Accessibility.enable")
    nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    by_id = {node["nodeId"]: node for node in nodes}
    by_place = {node.get("backendDOMNodeId"): node for node in nodes}
    root = session.send("DOM.getDocument", {"depth": 0})["root"]["nodeId"]
    asked = {"nodeId": root, "selector": ".shed-live"}
    places = [
        session.send("DOM.describeNode", {"nodeId": one})["node"]["backendNodeId"]
        for one in session.send("DOM.querySelectorAll", asked)["nodeIds"]
    ]
    session.send("Accessibility.disable")
    return [list(_below(by_place[place], by_id)) for place in places]


def _below(node, by_id):
    """A node of the accessibility tree and all below it that is not left out of it."""
    if not node.get("ignored"):
        flags = {p["name"]: p["value"].get("value") for p in node.get("properties", ())}
        role, name = (node.get(key, {}).get("value", "") for key in ("role", "name"))
        yield {"role": role, "name": name, "focusable": bool(flags.get("focusable"))}
    for child in node.get("childIds", ()):
        yield from _below(by_id[child], by_id)
