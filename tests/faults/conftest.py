"""What the proofs found is told at the end, also by those that ran in a process beside this one."""

import pytest


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for report in terminalreporter.getreports(""):
        if report.when == "teardown" and report.capstdout:
            terminalreporter.write(report.capstdout)
