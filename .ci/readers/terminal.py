"""The table as terminals of several widths show it, with colours and without."""

import fcntl
import os
import pty
import re
import struct
import termios

COMMAND = ["target/release/markloft", "check", "specs/harrow-tarn.yaml"]
# ECMA-48 select graphic rendition.
COLOUR = re.compile(r"\x1b\[[0-9;]*m")


def shown(width, environment):
    """What a terminal of so many columns gets."""
    child, end = pty.fork()
    if child == 0:
        # Set before the program asks.
        fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", 50, width, 0, 0))
        os.execvpe(COMMAND[0], COMMAND, environment)
    text = b""
    while True:
        try:
            more = os.read(end, 65536)
        except OSError:
            # Linux says so when the other side has gone.
            break
        if not more:
            break
        text += more
    os.waitpid(child, 0)
    os.close(end)
    return text.decode().replace("\r\n", "\n")


def table(tally):
    plain = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    for width in (40, 60, 80, 140):
        bare = shown(width, plain | {"NO_COLOR": "1"})
        coloured = shown(width, plain)
        widest = max(map(len, COLOUR.sub("", coloured).split("\n")))
        tally.check(f"a terminal of {width} columns: no line is wider", widest <= width, widest)
        tally.check(f"a terminal of {width} columns: NO_COLOR is kept to", not COLOUR.search(bare) and COLOUR.search(coloured))
