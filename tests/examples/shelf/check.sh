#!/bin/sh
# The whole job of a check in version control: every macro of this folder, proved on the machine beside it.
# It ends with 0 where nothing is refused, 1 where something is, 2 where something cannot be read.
cd "$(dirname "$0")" && exec "${CLICKSTOP:-clickstop}" check . --machine machine.toml --controller as-published
