"""Two firms and an auditor with people and filled registers, before anybody opens a page.

Run by `House.run`. The agreement itself is made in the browser.
"""

from __future__ import annotations

from tests.cast import make_cast
from tests.world import World

if __name__ == "__main__":
    World(make_cast()).fill_registers()
