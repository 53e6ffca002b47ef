// What each command does; each gives the program's exit code.
#pragma once

namespace hakea::service {

class Arguments;

int run_assess(const Arguments& call);
int run_inspect(const Arguments& call);
int run_history(const Arguments& call);
int run_quantities(const Arguments& call);
int run_check(const Arguments& call);
int run_serve(const Arguments& call);
int run_demo(const Arguments& call);
int run_token(const Arguments& call);
int run_backup(const Arguments& call);
int run_restore(const Arguments& call);

}  // namespace hakea::service
