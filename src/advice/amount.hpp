#pragma once

#include <optional>
#include <string>

#include "advice/zones.hpp"
#include "evenbevel/face.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

const Measured& need_of(const Need& need, Face face);

/// What one face has to lose, or has lost too much, along a zone: sizes, whatever the sign.
struct Amount {
  Measured mean_mm;
  std::optional<double> least_mm, most_mm;  ///< Where it changes by more than its interval; the
                                            ///< least only where it is resolved.
  double most_x_mm = 0.0;
};
Amount amount_of(const Zone& zone, Face face);

/// As "by_mm", or "least_mm" and "most_mm". @param prefix  "", "left_" or "right_".
void add_amount(RemarkDraft& draft, const Amount& amount, const std::string& prefix = "");

/// The same without its place, for a ribbon.
void add_few(RemarkDraft& draft, const Amount& amount);

/// The same square into a facet.
void add_into_facet(RemarkDraft& draft, const Amount& amount, const Measured& angle_rad,
                    const std::string& prefix = "");

}  // namespace evenbevel
