// The unit day sheet as one page of HTML. The table of limits takes the room that the rest leaves, so that the readings get as
// much of the page as there is and long prescriptions still fit.
#include <fmt/format.h>

#include <string_view>

#include "service/base/content_hash.h"
#include "service/output/html.h"
#include "service/tell/day_sheet.h"

namespace hakea::service {
namespace {

// Widths and heights in millimetres, as they are printed. Marks are letters, so that nothing is said by colour, and printers
// that leave out backgrounds lose nothing.
constexpr std::string_view kStyle = R"css(
@page{size:A4;margin:6.5mm 8mm}
*{box-sizing:border-box}
html{color:#000;background:#fff;font:7pt/1.2 "Liberation Sans",Arial,Helvetica,sans-serif}
body{margin:0}
main{width:194mm;min-height:283mm;margin:0 auto;display:flex;flex-direction:column}
main>*{flex:none}
h1,h2,p,dl,dd,ul,table{margin:0;padding:0}
h1{font-size:15pt;line-height:1.1}
h1 small{font-size:8pt;font-weight:400}
h2{font-size:7.5pt;border-bottom:.3mm solid #000;margin:1.4mm 0 .6mm}
h2 span{font-weight:400;font-size:6.5pt}
header{display:flex;justify-content:space-between;border-bottom:.5mm solid #000;padding-bottom:.8mm}
header p{font-size:8pt}
.right{text-align:right}
header .right p{font-size:7pt}
.first{font-weight:700;padding-top:.7mm}
.top{display:grid;grid-template-columns:50mm 78mm 62mm;gap:2mm}
.verdict{font-size:10pt;font-weight:700;line-height:1.15;padding:.3mm 0}
dl{display:grid;grid-template-columns:24mm 1fr}
.blank,u{border-bottom:.2mm solid #000;text-decoration:none}
.line{display:flex;margin-top:1.6mm}
.line u,li u,.sign u{flex:1;margin-left:1mm}
svg{width:58mm;height:41.2mm;display:block;margin-top:1.4mm;outline:.2mm solid #000}
svg text{font-family:"Liberation Sans",Arial,Helvetica,sans-serif}
.key{font-size:6pt;padding-top:.4mm}
table{border-collapse:collapse;width:100%;table-layout:fixed}
th,td{border-bottom:.1mm solid #777;padding:0 .6mm;text-align:right;font-weight:400;font-variant-numeric:tabular-nums;white-space:nowrap}
thead th{vertical-align:bottom;border-bottom:.25mm solid #000;font-weight:700;white-space:normal;line-height:1.05;padding-bottom:.3mm}
thead small{display:block;font-weight:400;font-size:6pt}
.hours td,.hours tbody th{height:2.8mm;line-height:2.65mm}
.hours tbody th{text-align:left;border-left:1mm solid transparent}
.hours .w th{border-left-color:#000;font-weight:700}
.hours thead th:first-child{width:17mm;text-align:left;padding-left:1.6mm}
.hours i,.hours td b{display:inline-block;width:6.6mm;font-size:5.6pt;font-style:normal;text-align:left;padding-left:.6mm}
.hours .all,.hours .all b{text-align:right;width:auto;font-size:6.5pt}
main>.low{flex:auto;display:grid;grid-template-columns:137mm 55mm;gap:2mm}
.low>section{display:flex;flex-direction:column}
.low>section>table{flex:auto}
.limits tbody th,.limits tbody td{line-height:2.75mm;border:.1mm solid #777;vertical-align:middle}
.limits tbody tr{height:2.85mm}
.limits tbody tr.read{height:auto}
.limits tbody th,.limits thead th{text-align:left}
.limits tbody th{white-space:normal}
.limits .none{border:0}
.limits thead th:nth-child(1){width:51mm}
.limits thead th:nth-child(2){width:22mm}
.limits thead th:nth-child(3){width:22.5mm}
.limits thead th:nth-child(4){width:14mm}
.limits u{display:inline-block;width:4mm}
.burn th{text-align:left;white-space:normal}
.burn td{border:.1mm solid #777;height:3.3mm}
.burn thead th:first-child{width:19mm}
.burn thead th:nth-child(2){width:20mm}
ul{list-style:none}
.boxes{display:grid;grid-template-columns:repeat(4,1fr);gap:1mm 4mm}
.boxes li{display:flex;margin-top:.6mm}
.boxes li::before{content:"";width:2.2mm;height:2.2mm;border:.25mm solid #000;margin-right:1mm;flex:none}
footer{border-top:.3mm solid #000;margin-top:1.2mm;padding-top:.5mm;font-size:6.5pt;line-height:1.15}
.sign{display:flex;gap:4mm;margin-top:2.8mm;font-size:7pt}
.sign span{flex:1;display:flex}
@media screen{main{padding:8mm;width:210mm}html{background:#fff}}
)css";

std::string mark(core::Fit fit) {
  switch (fit) {
    case core::Fit::in: return "in ●";
    case core::Fit::out: return "<b>out ×</b>";
    case core::Fit::unknown: return "<b>unknown ?</b>";
  }
  return "";
}

// Beside a value, where room is short.
std::string small_mark(const std::optional<core::Fit>& fit) {
  if (!fit) return "<i></i>";
  switch (*fit) {
    case core::Fit::in: return "<i>in ●</i>";
    case core::Fit::out: return "<b>out ×</b>";
    case core::Fit::unknown: return "<b>?</b>";
  }
  return "";
}

std::string paragraphs(const std::vector<std::string>& texts) {
  std::string all;
  for (const std::string& text : texts) all += fmt::format("<p>{}</p>", html(text));
  return all;
}

std::string head(const DaySheet& sheet) {
  return fmt::format(
             "<header><div><h1>{} <small>{}</small></h1><p><strong>{}</strong> · {} · {}</p></div>"
             "<div class=\"right\"><p><strong>Unit day "
             "sheet</strong></p><p>{}</p><p>{}</p><p><strong>{}</strong></p></div></header>",
             html(sheet.name), html(sheet.unit), html(sheet.date), html(sheet.district), html(sheet.about), html(sheet.forecast),
             html(sheet.printed), html(sheet.void_after)) +
         fmt::format("<p class=\"first\">{}</p><p>{}</p>", html(sheet.guidance), html(sheet.missing));
}

std::string window_and_after(const DaySheet& sheet) {
  std::string facts;
  for (const SheetFact& fact : sheet.facts)
    facts +=
        fmt::format("<dt>{}</dt><dd{}>{}</dd>", html(fact.name), fact.value.empty() ? " class=\"blank\"" : "", html(fact.value));
  return fmt::format(
      "<div class=\"top\"><section><h2>A Window</h2><p class=\"verdict\">{}</p><dl>{}</dl></section>"
      "<section><h2>F Wind change</h2>{}<h2>G Tonight and the days after</h2>{}<p class=\"line\">Patrol tonight<u></u></p>"
      "<p class=\"line\">Patrol next days<u></u></p></section>"
      "<section>{}<p class=\"key\">{}</p></section></div><div>{}</div>",
      html(sheet.verdict), facts, paragraphs(sheet.wind_change), paragraphs(sheet.after), sheet.map,
      html(fmt::format("{}", fmt::join(sheet.map_key, " · "))), paragraphs(sheet.why));
}

std::string hour_table(const DaySheet& sheet) {
  std::string text =
      "<section><h2>B Hour by hour <span>forecast at the hour; each value against the hourly limit: in ●, out ×, unknown ?; "
      "bar at the left: window; * outside the model’s data</span></h2><table class=\"hours\"><thead><tr><th "
      "scope=\"col\">Hour</th>";
  for (const SheetColumn& column : sheet.columns)
    text += fmt::format("<th scope=\"col\">{}<small>{}&nbsp;</small></th>", html(column.name), html(column.unit));
  text += "<th scope=\"col\">All hourly<small>limits</small></th></tr></thead><tbody>";
  for (const SheetHour& hour : sheet.hours) {
    text += fmt::format("<tr{}><th scope=\"row\">{}</th>", hour.is_in_window ? " class=\"w\"" : "", html(hour.name));
    for (const SheetCell& cell : hour.cells) text += fmt::format("<td>{}{}</td>", html(cell.value), small_mark(cell.fit));
    text += fmt::format("<td class=\"all\">{}</td></tr>", mark(hour.all));
  }
  return text + "</tbody></table></section>";
}

std::string limits(const DaySheet& sheet) {
  std::string text = fmt::format(
      "<section><h2>C Prescription <span>acceptable, forecast {}, and readings on the ground</span></h2><table class=\"limits\">"
      "<thead><tr><th scope=\"col\">Limit</th><th scope=\"col\">Acceptable</th><th scope=\"col\">Forecast</th>"
      "<th scope=\"col\">Fit</th><th scope=\"col\">08:00</th><th scope=\"col\">Pre-light</th><th scope=\"col\">at <u></u></th>"
      "<th scope=\"col\">at <u></u></th></tr></thead><tbody>",
      html(sheet.limits_asked_of));
  for (const SheetLimit& limit : sheet.limits)
    text += fmt::format("<tr{}><th scope=\"row\">{}{}</th><td>{}</td><td>{}</td><td>{}</td>{}</tr>",
                        limit.is_measured ? " class=\"read\"" : "", html(limit.name),
                        limit.kind == core::Kind::stop         ? " · <b>stop</b>"
                        : limit.kind == core::Kind::preference ? " · wanted"
                                                               : "",
                        html(limit.acceptable), html(limit.forecast), mark(limit.fit),
                        limit.is_measured ? "<td></td><td></td><td></td><td></td>" : "<td colspan=\"4\" class=\"none\"></td>");
  return text + "</tbody></table></section>";
}

std::string to_fill_in(const DaySheet& sheet) {
  std::string text = "<div><section><h2>D Stop lighting at</h2><ul>";
  for (const std::string& trigger : sheet.triggers) text += fmt::format("<li>{}</li>", html(trigger));
  text +=
      "</ul></section><section><h2>E Expected behaviour and test burn</h2><table class=\"burn\"><thead><tr>"
      "<th scope=\"col\"></th><th scope=\"col\">Forecast</th><th scope=\"col\">Test burn</th></tr></thead><tbody>";
  for (const SheetFact& fact : sheet.behaviour)
    text += fmt::format("<tr><th scope=\"row\">{}</th><td>{}</td><td></td></tr>", html(fact.name), html(fact.value));
  text +=
      "<tr><th scope=\"row\">Time, place</th><td></td><td></td></tr></tbody></table><p>Predicted flame and spread can be "
      "exceeded.</p></section></div>";
  return text;
}

// Blank: nothing here is filled in by us.
std::string checks() {
  std::string text = "<section><h2>H Checks</h2><ul class=\"boxes\">";
  for (const std::string_view check : {"Fire ban status", "Spot forecast no., time", "Notifications done", "Contingency named",
                                       "Comms channel", "Medical", "Water points"})
    text += fmt::format("<li>{}<u></u></li>", check);
  return text + "</ul></section>";
}

}  // namespace

std::string day_sheet_html(const DaySheet& sheet) {
  return fmt::format(
      "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>{}, {}: unit day "
      "sheet</title><style>{}</style></head>"
      "<body><main>{}{}{}<div class=\"low\">{}{}</div>{}<footer><p>{}</p><p class=\"sign\"><span>Burn officer<u></u></span>"
      "<span>Crew leader<u></u></span><span>Date, time<u></u></span></p></footer></main></body></html>\n",
      html(sheet.name), html(sheet.date), kStyle, head(sheet), window_and_after(sheet), hour_table(sheet), limits(sheet),
      to_fill_in(sheet), checks(), html(fmt::format("{}", fmt::join(sheet.cautions, " "))));
}

const std::string& day_sheet_policy() {
  static const std::string policy =
      fmt::format("default-src 'none'; style-src 'sha256-{}'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
                  content_hash_base64(kStyle));
  return policy;
}

}  // namespace hakea::service
