// The handlers of the routes, by resource (INTERFACE §7).
#pragma once

#include "service/http/call.h"

namespace hakea::service {

// api_districts.cc
Response list_districts(const Call& call);
Response show_district(const Call& call);
Response put_district(const Call& call);

// api_units.cc
Response list_units(const Call& call);
Response show_unit(const Call& call);
Response add_unit(const Call& call);
Response put_unit(const Call& call);
Response patch_unit(const Call& call);
Response retire_unit(const Call& call);

// api_prescription.cc
Response show_prescription(const Call& call);
Response put_prescription(const Call& call);
Response try_prescription(const Call& call);

// api_hours.cc
Response hours_of_unit(const Call& call);
Response hours_of_units(const Call& call);

// api_days.cc
Response days_of_unit(const Call& call);
Response days_of_all(const Call& call);
Response digest(const Call& call);

// api_sheet.cc
Response sheet_of_unit(const Call& call);

// api_history.cc
Response history_of_unit(const Call& call);
Response verification_of_unit(const Call& call);
Response verification_of_district(const Call& call);

// api_plan.cc
Response show_plan(const Call& call);
Response ask_plan(const Call& call);

// api_bookings.cc
Response list_bookings(const Call& call);
Response show_booking(const Call& call);
Response add_booking(const Call& call);
Response put_booking(const Call& call);
Response delete_booking(const Call& call);

// api_stops.cc
Response list_stops(const Call& call);
Response show_stop(const Call& call);
Response add_stop(const Call& call);
Response put_stop(const Call& call);
Response lift_stop(const Call& call);

// api_observations.cc
Response list_observations(const Call& call);
Response show_observation(const Call& call);
Response add_observation(const Call& call);

// api_outcomes.cc
Response list_outcomes(const Call& call);
Response show_outcome(const Call& call);
Response add_outcome(const Call& call);
Response put_outcome(const Call& call);

// api_subscriptions.cc
Response list_subscriptions(const Call& call);
Response show_subscription(const Call& call);
Response add_subscription(const Call& call);
Response put_subscription(const Call& call);
Response delete_subscription(const Call& call);
Response test_subscription(const Call& call);
Response rotate_secret(const Call& call);
Response unsubscribe(const Call& call);
Response list_deliveries(const Call& call);
Response retry_delivery(const Call& call);

// api_calendars.cc
Response list_calendars(const Call& call);
Response show_calendar(const Call& call);
Response add_calendar(const Call& call);
Response take_back_calendar(const Call& call);
Response calendar_of_link(const Call& call);

// api_events.cc
Response list_events(const Call& call);
Response acknowledge_event(const Call& call);

// api_tokens.cc
Response list_tokens(const Call& call);
Response add_token(const Call& call);
Response revoke_token(const Call& call);

// api_session.cc
Response open_page_session(const Call& call);
Response show_page_session(const Call& call);
Response end_page_session(const Call& call);

// openapi.cc
Response show_openapi(const Call& call);

// api_service.cc
Response list_feeds(const Call& call);
Response show_feed(const Call& call);
Response list_runs(const Call& call);
Response show_run(const Call& call);
Response list_quantities(const Call& call);
Response show_status(const Call& call);
Response list_audit(const Call& call);
Response move_clock(const Call& call);

}  // namespace hakea::service
