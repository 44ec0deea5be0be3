"""Whatever a job file says, sizing and pins answer with findings or with words, never with a traceback."""

import json

import pytest
from hypothesis import HealthCheck, given, settings

from pattress.cli import text
from pattress.cli.plain import plain
from pattress.design import design_of
from pattress.errors import PattressError
from tests.job.test_mutations import mutated


def assert_findings_or_words(content, file):
    file.write_text(content, "utf-8", errors="surrogatepass")
    try:
        design = design_of(file)
    except PattressError as error:
        assert str(error).strip()
        return
    for finding in design.findings:
        assert " ".join(finding.question.split()) in " ".join(text.whole(finding).split())
        assert text.brief(finding)
    json.dumps(plain(design.findings), allow_nan=False)


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    return tmp_path_factory.mktemp("mutated") / "job.toml"


@given(content=mutated())
@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
def test_a_mutated_job_gives_findings_or_words(content, file):
    assert_findings_or_words(content, file)


@pytest.mark.soak
@given(content=mutated())
@settings(max_examples=10_000, deadline=None, suppress_health_check=list(HealthCheck))
def test_ten_thousand_mutated_jobs_give_findings_or_words(content, file):
    assert_findings_or_words(content, file)
