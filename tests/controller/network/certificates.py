"""Certificates for the tests, made by `openssl` when they are needed and thrown away after."""

import shutil
import subprocess


def make(folder, name="localhost"):
    """Return the files of an authority and of a server's certificate for `name`; DER of the authority too."""
    assert shutil.which("openssl"), "the Debian package openssl is not installed"
    files = {part: str(folder / f"{part}-{name}") for part in ("ca", "ca_key", "ca_der", "certificate", "key", "request", "names")}

    def openssl(*arguments):
        subprocess.run(["openssl", *arguments], check=True, capture_output=True)

    openssl("req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2",
            "-subj", "/CN=invented authority", "-keyout", files["ca_key"], "-out", files["ca"])
    openssl("x509", "-in", files["ca"], "-outform", "DER", "-out", files["ca_der"])
    openssl("req", "-new", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
            "-subj", f"/CN={name}", "-keyout", files["key"], "-out", files["request"])
    with open(files["names"], "w") as file:
        file.write(f"subjectAltName=DNS:{name}\n")
    openssl("x509", "-req", "-in", files["request"], "-CA", files["ca"], "-CAkey", files["ca_key"], "-CAcreateserial",
            "-days", "2", "-extfile", files["names"], "-out", files["certificate"])
    return files
