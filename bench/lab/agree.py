"""What the checks here share: one comparison with its bound, printed and remembered."""

import sys

bad = []


def held(what, got, want, within):
    ok = abs(got - want) <= within
    print(f"{'ok ' if ok else 'BAD'} {what}: {got:.7g}, want {want:.7g} within {within:.2g}")
    if not ok:
        bad.append(what)


def finish():
    sys.exit(f"{len(bad)} checks failed" if bad else 0)
