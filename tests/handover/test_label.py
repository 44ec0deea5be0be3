"""The label with the passphrase: read back by an independent decoder; nothing else of the pack knows the secret."""

import subprocess
from io import BytesIO
from zipfile import ZipFile

import cv2
import numpy
import pytest
from click.testing import CliRunner

from pattress.bundle import secrets
from pattress.bundle.passphrase import LONGEST, new_passphrase
from pattress.cautions import CAUTIONS
from pattress.cli import main
from pattress.drawing.clashes import clashes
from pattress.handover.label import passphrase_label
from pattress.handover.pack import pack
from pattress.handover.sheet import as_files

from .designs import EXAMPLES, example, outcome


def read_code(pdf):
    """Return what OpenCV's detector reads on the first page of a PDF, printed black on white at 150 dots an inch."""
    page = subprocess.run(["pdftoppm", "-r", "150", "-gray", "-png", "-f", "1", "-l", "1", "-"], input=pdf, capture_output=True, check=True).stdout
    image = cv2.imdecode(numpy.frombuffer(page, numpy.uint8), cv2.IMREAD_GRAYSCALE)
    return cv2.QRCodeDetector().detectAndDecode(image)[0]


def words_of(pdf):
    return subprocess.run(["pdftotext", "-raw", "-", "-"], input=pdf, capture_output=True, check=True).stdout.decode()


def files_of(passphrase, name="sewing-room"):
    return as_files(passphrase_label(example(name), passphrase, cautions=CAUTIONS))


@pytest.mark.parametrize("passphrase", ["k7rm-2xqf-9b3t-wn6e", None, "8 letters", "ä" * (LONGEST // 2), "x7" * (LONGEST // 2)])
def test_the_code_reads_as_the_passphrase_written_beside_it(passphrase):
    passphrase = passphrase or new_passphrase()         # drawn here: every worker must collect the same tests
    for paper in ("a4", "letter"):
        pdf = files_of(passphrase)[f"sheets/label-with-passphrase-{paper}.pdf"]
        assert read_code(pdf) == passphrase
        assert "".join(passphrase.split()) in "".join(words_of(pdf).split())


def test_the_label_tells_what_to_switch_off_and_nothing_lies_over_anything(design):
    (section,) = passphrase_label(design, new_passphrase(), cautions=CAUTIONS).sections
    assert list(clashes(section.drawings[0])) == []
    text = " ".join(label.words for label in section.drawings[0].labels)
    assert all(f", feed {key}:" in text for key in {channel.feed for channel in (*design.job.load.values(), *design.job.fan.values())})


def test_the_same_passphrase_gives_the_same_bytes():
    assert files_of("k7rm-2xqf-9b3t-wn6e") == files_of("k7rm-2xqf-9b3t-wn6e")


def unpacked(content):
    with ZipFile(BytesIO(content)) as packed:
        return "".join(packed.read(name).decode() for name in packed.namelist())


def test_no_secret_is_anywhere_but_on_the_label_and_in_its_store(tmp_path):
    """The command itself, with secrets of known text beside the job."""
    job = tmp_path / "room.toml"
    job.write_bytes((EXAMPLES / "garden-workshop" / "job.toml").read_bytes())
    known = {"passphrase": "k7rm-2xqf-9b3t-wn6e", "signing_key": "5eed" * 16, "wifi_name": "invented-net", "wifi_password": "invented-key-1",
             "broker_user": "invented-user", "broker_password": "invented-word-2"}
    secrets.store(job, secrets.Secrets(**known))
    ran = CliRunner().invoke(main, ["handover", str(job), "--out", str(tmp_path / "out"), "--label"])
    assert ran.exit_code in (0, 1), ran.output
    written = [file for file in (tmp_path / "out").rglob("*") if file.is_file()]
    labels = [file for file in written if "passphrase" in file.name]
    assert len(labels) == 3 and all(file.stat().st_mode & 0o777 == secrets.OWNER_ONLY for file in labels)
    for file in (*written, job):
        content = file.read_bytes()
        text = (words_of(content) if file.suffix == ".pdf" else unpacked(content) if file.suffix == ".xlsx" else content.decode()) + ran.output
        if file in labels:
            assert known["passphrase"] in text
            text = text.replace(known["passphrase"], "")
        elif file.suffix == ".pdf":
            assert read_code(content) == ""
        assert [name for name, secret in known.items() if secret in text or secret.encode() in content.replace(known["passphrase"].encode(), b"")] == [], file.name


def test_the_pack_by_itself_has_no_code_and_no_label():
    files = pack(example("garden-workshop"), *outcome("garden-workshop"), cautions=CAUTIONS)
    assert not [place for place in files if "passphrase" in place]
    assert read_code(files["sheets/labels-a4.pdf"]) == ""
