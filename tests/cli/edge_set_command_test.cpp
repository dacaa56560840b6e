// Several photos of one blade, and the Monte Carlo check, as the command gives them.

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>

#include "../edge_set/set_scene.hpp"
#include "edge_run.hpp"
#include "random_scene.hpp"
#include "seeded.hpp"
#include "sources.hpp"

namespace evenbevel::test {
namespace {

using testing::AllOf;
using testing::HasSubstr;

nlohmann::json report_of(const EdgeRun& run) {
  return nlohmann::json::parse(file_text(run.out() / "report.json"));
}

struct Rendered {
  std::mt19937_64 rng = seeded("EdgeSetCommand", 0);
  std::mt19937_64 imaging = seeded("EdgeSetCommandImaging", 0);
  EdgeScene scene = random_edge_scene(SceneStage::ground, rng);

  std::string picture(const EdgeRun& run, const std::string& name, const EdgeScene& of) {
    return run.picture(name, photo_of(of, name, imaging, rng).pixels);
  }
  std::string arguments(const EdgeRun& run) const {
    return " --thickness " + std::to_string(scene.blade.thickness_mm) + "mm --camera-file " +
           run.camera_file("camera.yml", scene.camera);
  }
};

TEST(EdgeSetCommandSamplePhotos, ATurnedPairGivesTheBladesOffsetAndTheSetUps) {
  const EdgeRun run;
  Rendered rendered;
  const std::string first = rendered.picture(run, "first.png", rendered.scene);
  const std::string second =
      rendered.picture(run, "second.png", turned(rendered.scene, rendered.rng));
  const ProgramRun result =
      run.run(first + rendered.arguments(run) + " --turned " + second + " --tolerance 10mm");
  EXPECT_EQ(result.exit_code, 0) << result.output;
  EXPECT_THAT(result.output, AllOf(HasSubstr("2 photos, the blade turned in 1"),
                                   HasSubstr("set-up's own offset")));
  const nlohmann::json json = report_of(run);
  EXPECT_EQ(json["photos"].size(), 2U);
  EXPECT_EQ(json["photos"][0]["turned"], false);
  EXPECT_EQ(json["photos"][1]["turned"], true);
  EXPECT_NE(json["photos"][0]["tip"], json["photos"][1]["tip"]);
  EXPECT_TRUE(json["quantities"].contains("setup_offset"));
  EXPECT_LT(json["quantities"]["centreline_offset"]["U95"],
            json["photos"][0]["centreline_offset"]["U95"]);
  EXPECT_THAT(file_text(run.out() / "report.html"),
              AllOf(HasSubstr("second.png (turned)"), HasSubstr("set-up&#39;s own offset")));
}

TEST(EdgeSetBadInput, TheSamePhotoIsNotOneOfATurnedBlade) {
  const EdgeRun run;
  run.expect_refused(kUsbPhoto + usb_arguments() + " --turned " + kUsbPhoto,
                     AllOf(HasSubstr("was not turned"), HasSubstr("edge-usb.jpg")));
}

TEST(EdgeSetBadInput, PhotosOfTwoSizesAreNamed) {
  const EdgeRun run;
  cv::Mat half;
  cv::resize(usb_photo(), half, {}, 0.5, 0.5, cv::INTER_AREA);
  run.expect_refused(kUsbPhoto + ' ' + run.picture("half.png", half) + " --thickness 3mm",
                     AllOf(HasSubstr("half.png"), HasSubstr("one camera")));
}

TEST(EdgeSetBadInput, APhotoOfAnotherClampingIsNamed) {
  const EdgeRun run;
  Rendered rendered;
  const std::string first = rendered.picture(run, "first.png", rendered.scene);
  EdgeScene elsewhere = rendered.scene;
  elsewhere.set_up.card_y_mm += 2.5;
  const std::string second = rendered.picture(run, "second.png", elsewhere);
  run.expect_refused(first + ' ' + second + rendered.arguments(run),
                     AllOf(HasSubstr("different set-ups"), HasSubstr("second.png")));
}

TEST(EdgeSetBadInput, TogetherOnlyWithACard) {
  const EdgeRun run;
  const ProgramRun result = run.run(kUsbPhoto + ' ' + kUsbPhoto + " --no-card" + usb_arguments());
  EXPECT_EQ(result.exit_code, 2) << result.output;
  EXPECT_THAT(result.output, HasSubstr("--each"));
}

TEST(EdgeMonteCarloCommandSamplePhotos, TheSameSeedGivesTheSameNumbersNextToTheLaws) {
  const EdgeRun run;
  const std::string arguments = kUsbPhoto + usb_arguments() + " --monte-carlo 400 --seed ";
  const ProgramRun result = run.run(arguments + "7");
  EXPECT_THAT(result.output, HasSubstr("400 Monte Carlo trials against the law of propagation"));
  const nlohmann::json once = report_of(run)["monte_carlo"];
  run.run(arguments + "7");
  EXPECT_EQ(report_of(run)["monte_carlo"], once);
  run.run(arguments + "8");
  EXPECT_NE(report_of(run)["monte_carlo"], once);
  for (const nlohmann::json& check : once) {
    const double law =
        check["law_interval"][1].get<double>() - check["law_interval"][0].get<double>();
    // Both say the same to a quarter; which digit they agree to is the report's to say.
    EXPECT_NEAR(3.92 * check["u"].get<double>(), law, 0.25 * law) << check;
  }
}

}  // namespace
}  // namespace evenbevel::test
