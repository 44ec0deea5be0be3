"""What a check warns of that is no finding: it is said of the person's own files, or of the home's network."""

from pathlib import Path

from pattress.design import Design


def warnings(job: Path, design: Design) -> list[str]:
    """Return in words which parts stand for those of the stock, and how a broker is open to others."""
    replaced = [f"a part of your own file stands for the stock's: {', '.join(design.replaced)}"] if design.replaced else []
    network = design.job.network
    if not network.wifi or network.broker == "none":
        return replaced
    from pattress.bundle import secrets  # costs time
    from pattress.bundle.errors import SecretsError

    open_to = "whoever is in the home's network"
    over_tls = [] if network.broker_authority else [
        f"nothing between controller and broker {network.broker} is encrypted: {open_to} reads it, and can act as the broker\n"
        '  change: a broker with TLS, and network.broker_authority = "the file of its authority\'s certificate"']
    try:
        known = secrets.load(job)
    except SecretsError as error:
        return [*replaced, *over_tls, str(error)]
    if known.broker_user:
        return [*replaced, *over_tls]
    found = "gets no user and password from the controller" if known.wifi_name else "may ask for no user and password; nothing is known of it here yet"
    return [*replaced, *over_tls, f"the broker {network.broker} {found}: without them {open_to} switches every load\n  change: pattress put {job} --wifi asks for them"]
