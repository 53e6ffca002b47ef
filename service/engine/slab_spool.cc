#include "service/engine/slab_spool.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>

#include "ingest/format/scratch_file.h"

namespace hakea::service {
namespace {

constexpr std::size_t kWrittenAtOnce = 4 << 20;
constexpr std::size_t kKnownLists = 64;

template <class T>
std::vector<T> part_of(const std::vector<T>& all, std::size_t begin, std::size_t end) {
  if (all.empty()) return {};
  return {all.begin() + static_cast<std::ptrdiff_t>(begin), all.begin() + static_cast<std::ptrdiff_t>(end)};
}

}  // namespace

SlabSpool::SlabSpool(std::vector<std::size_t> block_ends) : block_ends_(std::move(block_ends)) {
  std::error_code failed;
  folder_ = std::filesystem::temp_directory_path(failed).string();
  file_ = ingest::scratch_file();
}

SlabSpool::~SlabSpool() {
  if (file_ >= 0) ::close(file_);
}

void SlabSpool::fail(const char* doing) {
  if (errors_.empty())
    errors_.push_back({ErrorKind::failed, "unwritable", folder_,
                       fmt::format("a run too large to be held in memory cannot be {} there: {}", doing, std::strerror(errno)),
                       "make room, name a roomier folder in TMPDIR, or assess fewer units at a time"});
}

void SlabSpool::on_plan(const ingest::RunPlan& plan) {
  plan_ = plan;
  plan_.stencils.clear();
  pieces_.assign(block_ends_.size(), {});
  cuts_.clear();
  waiting_.clear();
  written_ = 0;
  errors_.clear();
  if (file_ < 0 || ::ftruncate(file_, 0) != 0 || ::lseek(file_, 0, SEEK_SET) != 0) fail("written");
}

const SlabSpool::Cut& SlabSpool::cut(const std::shared_ptr<const ingest::PointList>& points) {
  for (const Cut& known : cuts_)
    if (known.of == points) return known;
  if (cuts_.size() == kKnownLists) cuts_.erase(cuts_.begin());
  Cut& fresh = cuts_.emplace_back();
  fresh.of = points;
  fresh.places.resize(block_ends_.size());
  std::vector<ingest::PointList> lists(block_ends_.size());
  for (std::size_t place = 0; place < points->size(); ++place) {
    const auto point = static_cast<std::size_t>((*points)[place]);
    const auto block =
        static_cast<std::size_t>(std::upper_bound(block_ends_.begin(), block_ends_.end(), point) - block_ends_.begin());
    if (block == block_ends_.size()) continue;  // nobody asked for it
    fresh.places[block].push_back(place);
    lists[block].push_back(static_cast<std::int32_t>(point - (block == 0 ? 0 : block_ends_[block - 1])));
  }
  for (ingest::PointList& list : lists) fresh.by_block.push_back(std::make_shared<const ingest::PointList>(std::move(list)));
  return fresh;
}

void SlabSpool::write(const std::vector<float>& values) {
  waiting_.append(reinterpret_cast<const char*>(values.data()), values.size() * sizeof(float));
  if (waiting_.size() < kWrittenAtOnce) return;
  if (!ingest::write_all(file_, waiting_.data(), waiting_.size())) fail("written");
  written_ += waiting_.size();
  waiting_.clear();
}

void SlabSpool::on_slab(const ingest::Slab& slab) {
  if (!errors_.empty()) return;
  const std::size_t points = slab.points->size(), planes = slab.steps * slab.members * slab.levels;
  const Cut& blocks = cut(slab.points);
  std::vector<float> values;
  for (std::size_t block = 0; block < block_ends_.size(); ++block) {
    const std::vector<std::size_t>& places = blocks.places[block];
    if (places.empty()) continue;
    values.clear();
    for (std::size_t plane = 0; plane < planes; ++plane)
      for (const std::size_t place : places) values.push_back(slab.values[plane * points + place]);
    pieces_[block].emplace_back(Piece{.offset = written_ + waiting_.size(),
                                      .bytes = values.size() * sizeof(float),
                                      .field = slab.field,
                                      .first_step = slab.first_step,
                                      .steps = slab.steps,
                                      .members = slab.members,
                                      .levels = slab.levels},
                                blocks.by_block[block]);
    write(values);
  }
}

Result<bool> SlabSpool::finish() {
  if (errors_.empty() && !ingest::write_all(file_, waiting_.data(), waiting_.size())) fail("written");
  std::string().swap(waiting_);
  cuts_.clear();
  if (!errors_.empty()) return errors_;
  return true;
}

Result<bool> SlabSpool::tell(std::size_t block, RunColumns& columns) const {
  const std::size_t begin = block == 0 ? 0 : block_ends_[block - 1], end = block_ends_[block];
  ingest::RunPlan plan = plan_;
  plan.wind_rotation_deg = part_of(plan_.wind_rotation_deg, begin, end);
  plan.model_elevation_m = part_of(plan_.model_elevation_m, begin, end);
  plan.sampled_at = part_of(plan_.sampled_at, begin, end);
  plan.sea = part_of(plan_.sea, begin, end);
  columns.on_plan(plan);
  for (const auto& [piece, points] : pieces_[block]) {
    ingest::Slab slab{.field = piece.field,
                      .first_step = piece.first_step,
                      .steps = piece.steps,
                      .points = points,
                      .members = piece.members,
                      .levels = piece.levels,
                      .values = std::vector<float>(piece.bytes / sizeof(float))};
    if (!ingest::read_all_at(file_, slab.values.data(), piece.bytes, piece.offset))
      return Error{ErrorKind::unreadable, "unreadable", folder_,
                   fmt::format("what was put there of a large run cannot be read again: {}", std::strerror(errno)),
                   "check the disk, or assess fewer units at a time"};
    columns.on_slab(std::move(slab));
  }
  return columns.finish();
}

}  // namespace hakea::service
