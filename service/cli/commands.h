// What each command does; each gives the program's exit code.
#pragma once

namespace hakea::service {

class Arguments;

int run_assess(const Arguments& call);
int run_inspect(const Arguments& call);
int run_quantities(const Arguments& call);
int run_check(const Arguments& call);

}  // namespace hakea::service
