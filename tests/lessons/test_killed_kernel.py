"""Readings survive the death of the notebook's kernel."""

import os
import shutil
import signal

import pytest
import refresh
from jupyter_client.manager import start_new_kernel

from signalshed import meters, site
from signalshed.classroom.forms import ReadingsForm


@pytest.fixture
def house(tmp_path):
    for name in ("town", "hill_house"):
        shutil.copytree(refresh.NOTEBOOKS.parent / "demo_data" / name, tmp_path / name)
    (tmp_path / "hill_house" / "readings.csv").unlink()
    return site.open_site(tmp_path / "hill_house")


@pytest.mark.skipif(os.name == "nt", reason="kernels are killed otherwise there")
def test_a_killed_kernel_loses_no_saved_reading(house):
    """A real notebook kernel: three presses, killed without warning while it goes on pressing."""
    presses = f"""
from signalshed import site
from signalshed.classroom.forms import ReadingsForm
form = ReadingsForm(site.open_site({str(house.folder)!r}))
form.propose = lambda: None
form.fields["heading_deg"].widget.value = "38"
for number in range(100):
    form.fields["reading"].widget.value = str(number)
    form.save()
    print(number, flush=True)
"""
    manager, client = start_new_kernel()
    try:
        client.execute(presses)
        said = []
        while len(said) < 3:
            message = client.get_iopub_msg(timeout=120)
            assert message["msg_type"] != "error", message["content"]
            said += message["content"].get("text", "").split()
        os.kill(manager.provisioner.pid, signal.SIGKILL)
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)
    table = meters.read_log(house.folder / "readings.csv")[0]
    kept = [int(float(reading)) for reading in table["reading"]]
    assert kept == list(range(len(kept))) and set(map(int, said)) <= set(kept)
    assert len(site.open_site(house.folder).readings) == len(kept)
    form = ReadingsForm(house)
    form.fields["heading_deg"].widget.value = "38"
    form.fields["reading"].widget.value = "50"
    form.save()
    assert len(meters.read_log(form.path)[0]) == len(kept) + 1
