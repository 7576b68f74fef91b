"""One line per check, and whether all of them held."""


class Tally:
    def __init__(self):
        self.passed = self.failed = 0

    def check(self, what, holds, found=""):
        """Prints the check with what was found; counts it."""
        holds = bool(holds)
        self.passed += holds
        self.failed += not holds
        print(f"{'ok  ' if holds else 'FAIL'} {what}{f': {found}' if found != '' else ''}", flush=True)
        return holds

    def near(self, what, found, wanted, within):
        """Every one of `found` within `within` of its `wanted`."""
        pairs = list(zip(found, wanted, strict=True))
        holds = all(abs(f - w) <= within for f, w in pairs)
        shown = " × ".join(f"{f:.6g}" for f in found)
        self.check(what, holds, f"{shown} (wanted {' × '.join(f'{w:.6g}' for w in wanted)} ± {within:g})")

    def close(self):
        print(f"{self.passed} passed, {self.failed} failed")
        return 1 if self.failed else 0
