#pragma once

#include <string>

namespace evenbevel::test {

inline const std::string kSource = SOURCE_FOLDER;
inline const std::string kSamples = kSource + "/sample-images/";
inline const std::string kUsbPhoto = kSamples + "edge-usb.jpg";
inline const std::string kCamera = " --camera-file " + kSource + "/calibration/sample-phone.yml";

}  // namespace evenbevel::test
