#pragma once

namespace evenbevel {

/// By how much the variance of a mean grows where neighbours share their errors, as in a
/// first-order autoregression.
/// @param own, lagged  Sums of the residuals' squares, and of each one's product with the next.
/// @param most         Of the correlation that is believed, below 1.
double neighbours_inflation(double own, double lagged, double most);

}  // namespace evenbevel
