#include <cmath>

#include "evenbevel/report.hpp"
#include "report/quantities.hpp"

namespace evenbevel {
namespace {

/// A blade of which a fifth was not seen cannot be called good: the worst place may be there.
constexpr double kSeenForWithin = 0.8;

}  // namespace

std::string_view name(Verdict verdict) {
  switch (verdict) {
    case Verdict::none:
      return "none";
    case Verdict::within:
      return "within";
    case Verdict::outside:
      return "outside";
    case Verdict::unresolved:
      return "unresolved";
  }
  return "";
}

Verdict edge_verdict(const EdgeResult& result, const ReportSettings& settings) {
  if (!settings.tolerance_mm) return Verdict::none;
  const std::optional<Measured> worst = measured(result.centreline_offset_worst_mm);
  if (!worst) return Verdict::unresolved;
  const double size_mm = std::abs(worst->value);
  const double U_mm = U95(*worst);
  if (size_mm - U_mm > *settings.tolerance_mm) return Verdict::outside;
  if (size_mm + U_mm > *settings.tolerance_mm) return Verdict::unresolved;
  return seen_share(result) < kSeenForWithin ? Verdict::unresolved : Verdict::within;
}

}  // namespace evenbevel
