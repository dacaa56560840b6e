#include "card/bend.hpp"
