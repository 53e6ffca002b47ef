#include "core/days/confidence.h"

#include <algorithm>

namespace hakea::core {

Confidence confidence_of(const Evidence& evidence) {
  const int lead = evidence.lead_days;
  int word = static_cast<int>(lead <= 1   ? Confidence::firm
                              : lead <= 3 ? Confidence::likely
                              : lead <= 6 ? Confidence::possible
                                          : Confidence::early);
  // Further ahead the word of the lead says already that the forecast may be so wrong.
  word += evidence.keeps_margin == false && word < static_cast<int>(Confidence::possible);
  word += 5 * evidence.members.same < 4 * evidence.members.of;
  word += evidence.feeds.same < evidence.feeds.of;
  word += 3 * (evidence.runs.of - evidence.runs.same) > evidence.runs.of;
  word += evidence.verified && 2 * evidence.verified->same < evidence.verified->of;
  return static_cast<Confidence>(std::min(word, static_cast<int>(Confidence::early)));
}

bool says_nothing(Verdict verdict) { return verdict == Verdict::unknown || verdict == Verdict::blocked; }

bool says_the_same(Verdict a, Verdict b) { return (a == Verdict::met) == (b == Verdict::met); }

}  // namespace hakea::core
