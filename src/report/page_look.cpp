#include "embedded/page.css.hpp"
#include "embedded/page.js.hpp"
#include "report/page.hpp"

namespace evenbevel {

// Text on every ground has a contrast of 4.5 or more in both schemes (WCAG 2.1, 1.4.3).
std::string page_style() { return std::string(embedded::kPageStyle) + "\n"; }

// Nothing is lost without it: lengths then stand in the unit that was asked for, and a chart's
// values in the titles of its stations.
std::string page_script() { return embedded::kPageScript; }

}  // namespace evenbevel
