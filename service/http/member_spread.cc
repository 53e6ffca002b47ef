#include "service/http/member_spread.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/catalogue/catalogue.h"
#include "service/output/json_writer.h"

namespace hakea::service {
namespace {

constexpr std::array kShares{0.1, 0.5, 0.9};
constexpr std::array<std::string_view, 3> kNames{"p10", "p50", "p90"};

// Hyndman & Fan 1996, Am. Stat. 50, 361-365, definition 7: linear between the order statistics. `ascending` is not empty.
double quantile(const std::vector<double>& ascending, double share) {
  const double place = share * static_cast<double>(ascending.size() - 1);
  const auto below = static_cast<std::size_t>(place);
  const std::size_t above = std::min(below + 1, ascending.size() - 1);
  return std::lerp(ascending[below], ascending[above], place - static_cast<double>(below));
}

}  // namespace

std::optional<MemberSpread> member_spread(std::span<const core::UnitHours> members, std::size_t begin, std::size_t end,
                                          const std::vector<std::size_t>& quantities) {
  if (members.size() < 2) return std::nullopt;
  MemberSpread spread;
  spread.members = members.size();
  std::vector<double> values;
  for (const std::size_t q : quantities) {
    if (core::catalogue()[q].is_direction) continue;
    spread.quantities.push_back(q);
    auto& columns = spread.columns.emplace_back();
    for (auto& column : columns) column.assign(end - begin, std::numeric_limits<float>::quiet_NaN());
    for (std::size_t i = begin; i < end; ++i) {
      values.clear();
      for (const core::UnitHours& member : members)
        if (!member.columns[q].is_missing(i)) values.push_back(static_cast<double>(member.columns[q][i]));
      if (2 * values.size() < members.size()) continue;
      std::sort(values.begin(), values.end());
      for (std::size_t k = 0; k < kShares.size(); ++k) columns[k][i - begin] = static_cast<float>(quantile(values, kShares[k]));
    }
  }
  return spread;
}

std::string members_json(const std::optional<MemberSpread>& spread) {
  JsonWriter out;
  if (!spread) return out.begin_object().null("members").end_object().str();
  out.begin_object().key("members").begin_object().whole("of", static_cast<long long>(spread->members));
  out.key("quantities").begin_object();
  for (std::size_t j = 0; j < spread->quantities.size(); ++j) {
    const core::QuantityRow& row = core::catalogue()[spread->quantities[j]];
    out.key(row.key).begin_object().text("unit", row.unit);
    for (std::size_t k = 0; k < kNames.size(); ++k) {
      out.key(kNames[k]).begin_list();
      for (const float value : spread->columns[j][k]) out.number(static_cast<double>(value));
      out.end_list();
    }
    out.end_object();
  }
  return out.end_object().end_object().end_object().str();
}

}  // namespace hakea::service
