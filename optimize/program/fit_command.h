/// `antiphase fit POINTS.csv --tube NAME`: fits a triode law and writes a card.
#pragma once

#include <iosfwd>
#include <string>
#include <vector>

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
  std::string plot;         ///< --plot FILE.svg: the curves over the readings; empty: none
  std::string out;          ///< --out CARD.json; empty: the card goes to `out` of run_fit
  std::string tube_folder;  ///< where the cards are
};

/// Fits, reports, and writes the card of the tube with the new law as its first model; an earlier own
/// fit of the same form, with the same law to lean on, is replaced where it stands; everything else stays.
/// measured_surface: the form under it is fitted first, then the smooth correction (surface_fit.h). For a
/// type without a card: its name and law. The report goes to `out` if the card goes to a file, else to `err`,
/// so that the card can be piped. Returns the exit code: 0 done; 2 bad input (every error is told); 3 a file
/// could not be read or written.
int run_fit(const FitArguments&, std::ostream& out, std::ostream& err);

}  // namespace antiphase
