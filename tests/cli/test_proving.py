"""`pattress prove` with its options: what was never gone through, what is explored together, what is not decided."""

import json

import pytest

from .test_commands import EXAMPLES, call

WORKSHOP = EXAMPLES / "garden-workshop" / "job.toml"


def test_coverage_is_told_by_what_the_job_lacks():
    result = call("prove", WORKSHOP, "--coverage")
    assert result.exit_code == 0
    assert "no regulator: " in result.stdout and "; 0 not explained\n" in result.stdout
    found = json.loads(call("prove", WORKSHOP, "--coverage", "--json").stdout)
    assert found["unexplained"] == 0 and {row["because"] for row in found["never"]} >= {"no regulator", "no remote button"}


def test_channels_are_explored_together_when_asked():
    result = call("prove", WORKSHOP, "--together", "extractor,compressor", "--workers", 1)
    assert result.exit_code == 0
    assert "Explored together: Dust extractor + Compressor. finished: 32 states explored, " in result.stdout


def test_what_is_not_finished_is_unknown_and_ends_with_1():
    result = call("prove", WORKSHOP, "--together", "all", "--memory", "64K", "--workers", 2)
    assert result.exit_code == 1
    assert "unknown  A channel that was switched off stays off for its minimum off time" in result.stdout
    assert "not finished (memory is full): " in result.stdout and "properties are not decided" in result.stdout


@pytest.mark.parametrize("words, told", [
    (("--together", "extractor,compresor"), "--together names 'compresor'\n  allowed: extractor, compressor, battens, vice, or all\n  nearest: compressor\n"),
    (("--together", "vice"), "--together needs two channels or more, separated by commas\n"),
    (("--memory", "12X"), "--memory is '12X'\n  allowed: a whole number with K, M or G behind it, from 64K, such as 512M\n"),
])
def test_wrong_use_is_told(words, told):
    result = call("prove", WORKSHOP, *words)
    assert (result.exit_code, result.stderr) == (2, told)
