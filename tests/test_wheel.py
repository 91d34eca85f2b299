"""The wheel carries templates, static files and the demo book, and works outside the checkout."""

import json
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

import pytest

pytestmark = pytest.mark.deep
TOP = Path(__file__).resolve().parent.parent
WALKIN = """[answers]
customer_name = "Ines Falk"
family = "ukulele"
complaints = ["restring"]
"""


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A virtual environment with the built wheel; its dependencies are those of the running Python."""
    folder = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "-q", "--disable-pip-version-check"]
    build = [*pip, "wheel", "--no-deps", "--no-build-isolation", "-w", str(folder), str(TOP)]
    subprocess.run(build, check=True, cwd=folder)
    (wheel,) = folder.glob("tallyfret-*.whl")
    home = folder / "env"
    venv.create(home, with_pip=False)
    python = home / "bin" / "python"
    install = [*pip, "--python", str(python), "install", "--no-deps", str(wheel)]
    subprocess.run(install, check=True, cwd=folder)
    (site,) = home.glob("lib/python*/site-packages")
    (site / "dependencies.pth").write_text(sysconfig.get_path("purelib") + "\n")
    return home


def test_quote_from_the_wheel(installed: Path, tmp_path: Path) -> None:
    walkin = tmp_path / "walkin.toml"
    walkin.write_text(WALKIN)
    pdf = tmp_path / "quote.pdf"
    tallyfret = installed / "bin" / "tallyfret"
    command = [tallyfret, "quote", walkin, "--json", "--pdf", pdf, "--today", "2026-11-25"]
    done = subprocess.run(command, cwd=tmp_path, check=True, capture_output=True, text=True)
    assert [job["id"] for job in json.loads(done.stdout)["jobs"]] == ["restring"]
    assert pdf.read_bytes().startswith(b"%PDF-")


def test_the_app_from_the_wheel(installed: Path, tmp_path: Path) -> None:
    script = (
        "import intake, re, sys\n"
        "from intake.app import create_app\n"
        "from intake.config import Settings\n"
        "from pathlib import Path\n"
        "client = create_app(Settings(data=Path(sys.argv[1]))).test_client()\n"
        "page = client.get('/setup')\n"
        "assert page.status_code == 200, page.status\n"
        'links = re.findall(r\'(?:href|src)="(/static/[^"]+)"\', page.text)\n'
        "assert links and all(client.get(link).status_code == 200 for link in links), links\n"
        "print(intake.__file__)\n"
    )
    command = [installed / "bin" / "python", "-c", script, tmp_path / "data"]
    done = subprocess.run(command, cwd=tmp_path, check=True, capture_output=True, text=True)
    assert str(installed) in done.stdout
