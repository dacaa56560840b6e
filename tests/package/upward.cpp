#include "evenbevel/advice.hpp"
