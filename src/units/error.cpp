#include "evenbevel/error.hpp"

#include <utility>

namespace evenbevel {

Error::Error(InUnits what_is_wrong, InUnits do_next)
    : std::runtime_error(what_is_wrong.mm),
      what_is_wrong_(std::move(what_is_wrong)),
      what_to_do_(std::move(do_next)) {}

}  // namespace evenbevel
