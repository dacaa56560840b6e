#include <fstream>
#include <iostream>
#include <vector>

#include "evenbevel/card.hpp"
#include "evenbevel/media.hpp"
#include "evenbevel/uncertainty.hpp"

int main(int, char** arguments) {
  const cv::Mat blank(800, 800, CV_8UC1, cv::Scalar(255));
  const std::vector<std::uint8_t> png =
      evenbevel::encode_picture(".png", blank);  // loads the plug-in
  std::ofstream(arguments[1], std::ios::binary)
      .write(reinterpret_cast<const char*>(png.data()), static_cast<std::streamsize>(png.size()));
  const std::vector<evenbevel::FoundCard> cards = evenbevel::find_cards(blank);
  std::cout << "k " << evenbevel::coverage_factor(2.0) << ", cards " << cards.size() << ", png "
            << (png.size() > 8) << '\n';
}
