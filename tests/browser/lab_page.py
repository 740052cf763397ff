"""What a learner does in JupyterLab, as functions of a playwright page."""

import nbformat

RUN_MS = 60_000


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
    return found


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
