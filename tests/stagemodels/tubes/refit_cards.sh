#!/usr/bin/env bash
# Makes the own fit of every tube card again, with the command that the card names, and writes it there.
# On the machine that made the cards nothing changes; refit_cards_test.cpp checks the same without writing.
# Usage: tests/stagemodels/tubes/refit_cards.sh build/optimize/program/antiphase
set -euo pipefail
program=$(realpath "$1")
cd "$(dirname "$0")/../../.."

command_of() {  # the words that stand on a card after "antiphase fit"
  grep -o 'made by: antiphase fit [^"]*' "$1" | sed 's/.* fit //'
}

refit() {
  local words
  read -r -a words <<< "$(command_of "$1")"
  "$program" fit "${words[@]}" --tubes configs/tubes --out "$1" > /dev/null
  echo "$1"
}

leaning=()  # on the own fit of another card, which comes first
for card in configs/tubes/*.json; do
  command=$(command_of "$card")
  if [[ $command =~ --tube\ ([^ ]+)\ --towards\ ([^ ]+) && ${BASH_REMATCH[1]} != "${BASH_REMATCH[2]}" ]]; then
    leaning+=("$card")
  else
    refit "$card"
  fi
done
for card in "${leaning[@]}"; do refit "$card"; done
