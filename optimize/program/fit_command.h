/// `antiphase fit POINTS.csv --tube NAME`: fits a triode law and writes a card.
#pragma once

#include <string>
#include <vector>

#include "optimize/program/cards_asked.h"

namespace antiphase {

struct FitArguments {
  /// POINTS.csv, any number (read_curve_points tells the layout). None: the published points of the
  /// tube's card alone, which needs `towards`.
  std::vector<std::string> point_files;
  std::string tube;                  ///< --tube NAME: type number or alias; need not have a card
  std::string model = "koren_1996";  ///< --model FORM
  /// --towards NAME: pulls the parameters towards a law of this form, for types of which a point or two
  /// are known. The tube's own name: the first published set on its card; another: that card's first.
  std::string towards;
  /// --like NAME: a type without a card takes ratings, heater and capacitances over from that card, each
  /// marked.
  std::string like;
  std::string plot;  ///< --plot FILE.svg: the curves over the readings; empty: none
  std::string out;   ///< --out CARD.json; empty: the card goes to standard output
  CardsAsked tubes;
};

/// The report goes to standard output if the card goes to a file, else to standard error, so that the card
/// can be piped.
/// @return an exit code.
int run_fit(const FitArguments& arguments);

}  // namespace antiphase
