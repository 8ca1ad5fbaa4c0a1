import pytest

from farmops.core.beside import run_beside


def test_a_module_runs_to_its_end_in_a_process_of_its_own_and_says_nothing(
    capfd: pytest.CaptureFixture[str],
) -> None:
    thread = run_beside("this")
    thread.join(60)
    assert not thread.is_alive()
    assert thread.daemon
    assert capfd.readouterr() == ("", "")
