"""A program that keeps version after version and says so; others kill it, or cut its power."""

import hashlib
import random
import sys
from datetime import UTC, datetime
from pathlib import Path

from showvault.vault.housekeeping import housekeep
from showvault.vault.opening import open_vault
from tests.vault.builders import keep


def main(folder: str, seed: str, saves: str, tidy: str) -> None:
    """Keep ``saves`` versions in the vault at ``folder``; one line for each that is kept."""
    chance = random.Random(seed)
    with open_vault(Path(folder), clock=lambda: datetime.now(UTC)) as vault:
        print("ready", flush=True)
        for _ in range(int(saves)):
            parts = {
                f"show/cues/{chance.randrange(40)}.json": chance.randbytes(
                    chance.randrange(1, 3000)
                )
                for _ in range(chance.randrange(1, 12))
            }
            whole = chance.randbytes(chance.randrange(10, 200_000))
            version = keep(vault, parts, data=whole, summary=f"{len(parts)} cues")
            told = hashlib.sha256(b"".join(parts[path] for path in sorted(parts))).hexdigest()
            names = ",".join(sorted(parts))
            print(f"kept {version.number} {version.commit} {told} {names}", flush=True)
            if tidy == "tidy":
                housekeep(vault)


if __name__ == "__main__":
    main(*sys.argv[1:])
