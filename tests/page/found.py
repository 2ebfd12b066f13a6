"""What a script found in the browser, and how it ends."""
import sys

failures = []
said = []


def hold(condition, message):
    if not condition:
        failures.append(message)


def close():
    """Prints all of it; ends with 1 where something does not hold."""
    print("\n".join(said))
    for failure in failures[:40]:
        print(f"FAILED: {failure}")
    sys.exit(1 if failures else 0)
