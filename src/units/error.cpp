#include "evenbevel/error.hpp"

namespace evenbevel {

Error::Error(const std::string& what_is_wrong, std::string do_next)
    : std::runtime_error(what_is_wrong), do_next_(std::move(do_next)) {}

}  // namespace evenbevel
