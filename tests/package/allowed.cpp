#include "card/plane_pose.hpp"
#include "evenbevel/card.hpp"
