// The cautions that stand wherever our numbers do, in one wording.
#pragma once

#include <string_view>

namespace hakea::service {

inline constexpr std::string_view kGuidance =
    "Forecast guidance only. The decision to light belongs to the authorised burn officer under the approved plan and local law.";
inline constexpr std::string_view kAskAboutBans =
    "Check total fire ban, restricted or prohibited periods and permits with the declaring authority. This system does not know "
    "them unless entered.";
inline constexpr std::string_view kNotOfficialRating = "Calculated FFDI is not the official fire danger rating.";
inline constexpr std::string_view kWatchTheTail = "A met window does not mean the burn will hold: watch the following days.";
inline constexpr std::string_view kFictional = "Demo data. Fictional district.";

}  // namespace hakea::service
