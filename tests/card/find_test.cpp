#include <cmath>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "card_photo.hpp"
#include "evenbevel/error.hpp"
#include "independent_cards.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using test::CardScene;
using test::random_card_scene;
using testing::AllOf;
using testing::HasSubstr;

FoundCard found_in(const CardScene& scene, std::mt19937_64& rng) {
  const std::vector<FoundCard> cards = find_cards(photo_of(scene, {}, rng));
  if (cards.size() != 1) {
    ADD_FAILURE() << cards.size() << " cards";
    return {};
  }
  return cards.front();
}

/// Usable corners half a cell or more inside the picture and 3 mm or more off the cover.
int visible_corners(const CardScene& scene, double spacing_px) {
  const double rim_px = 0.5 * spacing_px;
  int count = 0;
  for (const Eigen::Vector2d& corner_mm : card_layout(scene.kind).corners_mm) {
    const Eigen::Vector2d q = pixel_of(scene, corner_mm);
    const bool inside = q.x() > rim_px && q.y() > rim_px &&
                        q.x() < scene.camera.width_px - 1.0 - rim_px &&
                        q.y() < scene.camera.height_px - 1.0 - rim_px;
    count += inside && scene.hidden_mm.exteriorDistance(corner_mm) > 3.0 ? 1 : 0;
  }
  return count;
}

struct CornerMisses {
  double sum_px2 = 0.0, worst_px = 0.0;
  int count = 0;
  double rms_px() const { return std::sqrt(sum_px2 / count); }
};

void add_misses(const CardScene& scene, const FoundCard& card, CornerMisses& misses) {
  for (const CardCorner& corner : card.corners) {
    const Eigen::Vector2d& at_mm =
        card_layout(scene.kind).corners_mm[static_cast<std::size_t>(corner.index)];
    const double miss = (corner.q_px - pixel_of(scene, at_mm)).norm();
    misses.sum_px2 += miss * miss;
    misses.worst_px = std::max(misses.worst_px, miss);
    ++misses.count;
  }
}

// A cell is 40 to 110 px wide, blurred by 0.8 px, with noise of 0.2 to 0.5 % of full scale. A
// corner rests on four borders of some 15 px each. The Cramer-Rao bound of one of them, sigma noise
// / contrast * sqrt(2 sqrt(pi) * blur / length) (reference 2.2), is 0.0035 px; tone curve, 8 bits
// and rendering by 34 points a pixel leave about 0.01 px.
TEST(CardFindingProperty, CornersOfEveryCardOverRandomPoses) {
  for (const CardKind kind : test::kAllCards) {
    SCOPED_TRACE(name(kind));
    CornerMisses misses;
    for (int i = 0; i < 5; ++i) {
      std::mt19937_64 rng = test::seeded("CardFindingProperty", i);
      const CardScene scene = random_card_scene(kind, rng);
      const FoundCard card = found_in(scene, rng);
      EXPECT_EQ(card.kind, kind);
      EXPECT_GE(static_cast<double>(card.corners.size()),
                0.9 * visible_corners(scene, card.spacing_px))
          << i;
      add_misses(scene, card, misses);
    }
    EXPECT_LT(misses.rms_px(), 0.025);
    EXPECT_LT(misses.worst_px, 0.1);
  }
}

TEST(CardFindingProperty, AHalfHiddenCardGivesItsOpenHalfAlone) {
  for (int i = 0; i < 4; ++i) {
    std::mt19937_64 rng = test::seeded("HalfHidden", i);
    CardScene scene = random_card_scene(CardKind::edge, rng);
    const double from = test::uniform(rng, -20.0, 20.0);
    scene.hidden_mm = {Eigen::Vector2d(from, -100.0), Eigen::Vector2d(200.0, 100.0)};
    const FoundCard card = found_in(scene, rng);
    EXPECT_GE(static_cast<double>(card.corners.size()),
              0.9 * visible_corners(scene, card.spacing_px));
    CornerMisses misses;
    add_misses(scene, card, misses);
    EXPECT_LT(misses.rms_px(), 0.025);
    EXPECT_LT(misses.worst_px, 0.1);
    for (const CardCorner& corner : card.corners) {
      EXPECT_LT(card_layout(CardKind::edge).corners_mm[static_cast<std::size_t>(corner.index)].x(),
                from);
    }
  }
}

std::string refusal(const cv::Mat& grey, CardKind wanted, int needed) {
  try {
    require_card(grey, wanted, needed);
  } catch (const Error& error) {
    return std::string(error.what()) + " | " + error.do_next();
  }
  return "not refused";
}

TEST(CardFindingBadInput, AnAlmostHiddenCardIsRefusedWithCounts) {
  std::mt19937_64 rng = test::seeded("AlmostHidden", 0);
  CardScene scene = random_card_scene(CardKind::edge, rng);
  scene.hidden_mm = {Eigen::Vector2d(-95.0, -100.0), Eigen::Vector2d(200.0, 100.0)};
  const cv::Mat grey = photo_of(scene, {}, rng);
  EXPECT_THAT(refusal(grey, CardKind::edge, 40),
              AllOf(HasSubstr("corners"), HasSubstr("40 corners are needed")));
}

TEST(CardFindingBadInput, TheWrongCardIsNamed) {
  std::mt19937_64 rng = test::seeded("WrongCard", 0);
  const cv::Mat grey = photo_of(random_card_scene(CardKind::side, rng), {}, rng);
  EXPECT_THAT(refusal(grey, CardKind::edge, 40), AllOf(HasSubstr("side card"), HasSubstr("edge")));
}

TEST(CardFindingBadInput, TwoKindsOfCardAreBothNamed) {
  std::mt19937_64 rng = test::seeded("TwoCards", 0);
  const cv::Mat edge = photo_of(random_card_scene(CardKind::edge, rng), {}, rng);
  const cv::Mat heel = photo_of(random_card_scene(CardKind::heel, rng), {}, rng);
  cv::Mat both;
  cv::vconcat(edge, heel, both);
  EXPECT_THAT(refusal(both, CardKind::edge, 40),
              AllOf(HasSubstr("two kinds"), HasSubstr("edge card"), HasSubstr("heel card")));
}

TEST(CardFindingBadInput, APictureWithoutACardHasNone) {
  std::mt19937_64 rng = test::seeded("NoCard", 0);
  cv::Mat noise(800, 1000, CV_8UC1);
  for (int y = 0; y < noise.rows; ++y) {
    for (int x = 0; x < noise.cols; ++x) noise.at<uchar>(y, x) = static_cast<uchar>(rng() >> 56);
  }
  EXPECT_TRUE(find_cards(noise).empty());
  EXPECT_THAT(refusal(noise, CardKind::edge, 40), HasSubstr("no edge card found"));
  EXPECT_TRUE(find_cards(cv::Mat(400, 400, CV_8UC1, cv::Scalar(255))).empty());
}

}  // namespace
}  // namespace evenbevel
