// The handlers below /ogc.
#pragma once

#include "service/http/call.h"

namespace hakea::service {

// edr.cc
Response edr_landing(const Call& call);
Response edr_conformance(const Call& call);
Response edr_collections(const Call& call);
Response edr_collection(const Call& call);
Response edr_instances(const Call& call);
Response edr_instance(const Call& call);
Response edr_locations(const Call& call);
Response edr_locations_of_run(const Call& call);
Response edr_location(const Call& call);
Response edr_location_of_run(const Call& call);
Response edr_position(const Call& call);
Response edr_position_of_run(const Call& call);

// features.cc
Response features_landing(const Call& call);
Response features_conformance(const Call& call);
Response features_collections(const Call& call);
Response features_collection(const Call& call);
Response features_items(const Call& call);
Response features_item(const Call& call);

// description.cc
Response describe_ogc(const Call& call);

}  // namespace hakea::service
