#!/usr/bin/env bash
# Makes the own fit of every tube card again, with the command that the card names, and writes it there.
# On the machine that made the cards nothing changes; refit_cards_test.cpp checks the same without writing.
# Usage: tests/stagemodels/tubes/refit_cards.sh build/optimize/program/antiphase
set -euo pipefail
program=$(realpath "$1")
cd "$(dirname "$0")/../../.."

commands_of() {  # the words that stand on a card after "antiphase fit", a line for each own fit
  grep -o 'made by: antiphase fit [^"]*' "$1" | sed 's/.* fit //'
}

# Fits that lean on the own fit of another card come in a second round, after it.
refit() {
  local card=$1 round=$2 line words leans
  while read -r line; do
    leans=1
    [[ $line =~ --tube\ ([^ ]+).*--towards\ ([^ ]+) && ${BASH_REMATCH[1]} != "${BASH_REMATCH[2]}" ]] && leans=2
    [ "$leans" = "$round" ] || continue
    read -r -a words <<< "$line"
    "$program" fit "${words[@]}" --tubes configs/tubes --out "$card" > /dev/null
    echo "$card: $line"
  done < <(commands_of "$card")
}

for round in 1 2; do
  for card in configs/tubes/*.json; do refit "$card" "$round"; done
done
