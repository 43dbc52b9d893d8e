import os
import subprocess
import sys
import threading

from cutpath.nesting.quiet import no_output


def test_what_is_written_below_python_stays_away_and_what_follows_comes_through(capfd):
    print("before")  # noqa: T201 - what is looked at is the output
    with no_output():
        os.write(1, b"noise\n")
    os.write(1, b"after\n")
    assert capfd.readouterr().out == "before\nafter\n"


def test_two_threads_at_a_time_leave_the_output_as_it_was(capfd):
    inside, leave = threading.Barrier(2), threading.Event()

    def first():
        with no_output():
            inside.wait()
            leave.wait()

    thread = threading.Thread(target=first)
    thread.start()
    inside.wait()
    with no_output():
        pass
    os.write(1, b"noise\n")  # the other thread still holds it back
    leave.set()
    thread.join()
    os.write(1, b"after\n")
    assert capfd.readouterr().out == "after\n"


def test_a_closed_output_is_no_fault():
    code = "import os; os.close(1)\nfrom cutpath.nesting.quiet import no_output\nwith no_output():\n    pass\n"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
