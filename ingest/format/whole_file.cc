#include "ingest/format/whole_file.h"

#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstring>
#include <optional>
#include <string_view>
#include <vector>

#include "core/base/words.h"
#include "ingest/station/station_table.h"

namespace hakea::ingest {
namespace {

constexpr const char* kWanted = "give a whole NetCDF file (classic, 64-bit offset, CDF-5 or NetCDF-4) or a GRIB file";
constexpr const char* kComplete = "fetch the file again; write it under another name and rename it when it is whole";

// a * b + c without wrapping round; nullopt when the result does not fit.
std::optional<std::uint64_t> multiply_add(std::uint64_t a, std::uint64_t b, std::uint64_t c) {
  std::uint64_t product = 0, sum = 0;
  if (__builtin_mul_overflow(a, b, &product) || __builtin_add_overflow(product, c, &sum)) return std::nullopt;
  return sum;
}

// Big-endian numbers from the start of a file. Running over the end of the file is remembered, not reported at once.
class HeaderReader {
 public:
  HeaderReader(const ReadAt& read, std::uint64_t file_size) : read_(read), file_size_(file_size) {}

  std::uint64_t number(std::size_t bytes) {
    std::array<unsigned char, 8> raw{};
    if (!take(raw.data(), bytes)) return 0;
    std::uint64_t value = 0;
    for (std::size_t i = 0; i < bytes; ++i) value = value << 8 | raw[i];
    return value;
  }
  void skip(std::uint64_t bytes) {
    if (bytes > file_size_ - position_)
      cut_ = true;
    else
      position_ += bytes;
  }
  std::uint64_t left() const { return file_size_ - position_; }
  bool cut() const { return cut_; }

 private:
  bool take(unsigned char* to, std::size_t bytes) {
    if (cut_ || bytes > left()) {
      cut_ = true;
      return false;
    }
    if (position_ < buffer_start_ || position_ + bytes > buffer_start_ + buffer_.size()) {
      buffer_.resize(static_cast<std::size_t>(std::min<std::uint64_t>(left(), 65536)));
      const std::size_t got = read_(position_, buffer_.data(), buffer_.size());
      if (got < bytes) {
        cut_ = true;
        return false;
      }
      buffer_.resize(got);
      buffer_start_ = position_;
    }
    std::memcpy(to, buffer_.data() + (position_ - buffer_start_), bytes);
    position_ += bytes;
    return true;
  }

  const ReadAt& read_;
  std::uint64_t file_size_, position_ = 0, buffer_start_ = 0;
  std::vector<unsigned char> buffer_;
  bool cut_ = false;
};

// The header of a classic file, as far as its size follows from it.
class ClassicHeader {
 public:
  ClassicHeader(HeaderReader& in, int version)
      : in_(in), count_bytes_(version == 5 ? 8 : 4), offset_bytes_(version == 1 ? 4 : 8) {}

  // The least size of a whole file; nullopt when the header is cut or contradicts itself (see damage()).
  std::optional<std::uint64_t> implied_size() {
    const std::uint64_t records = in_.number(count_bytes_);
    if (records == (count_bytes_ == 8 ? UINT64_MAX : UINT32_MAX))
      return damaged("its number of records was never written: the file was not closed");
    if (!dimensions() || !attributes() || !variables()) return std::nullopt;
    // The header itself must be there even where no variable follows.
    return extent(records);
  }
  const std::string& damage() const { return damage_; }

 private:
  struct Var {
    std::uint64_t bytes = 0, begin = 0;
    bool is_record = false;
  };

  std::nullopt_t damaged(std::string why) {
    damage_ = std::move(why);
    return std::nullopt;
  }
  bool fails(std::string why) {
    damage_ = std::move(why);
    return false;
  }
  static std::uint64_t padded(std::uint64_t bytes) { return bytes > UINT64_MAX - 3 ? bytes : (bytes + 3) / 4 * 4; }

  // A list opens with its tag and a count, or with two zeros. `least` bytes are the least that an entry takes.
  bool list(std::uint64_t tag, std::uint64_t least, std::uint64_t& entries) {
    const std::uint64_t found = in_.number(4);
    entries = in_.number(count_bytes_);
    if (in_.cut()) return false;
    if (found != tag && (found != 0 || entries != 0)) return fails("its header is not in order");
    constexpr std::uint64_t kMostEntries = 65536;  // the library's own bounds are lower; more would be held in memory here
    if (entries > kMostEntries) return fails(fmt::format("its header promises {} entries in one list", entries));
    if (entries > in_.left() / least) {
      in_.skip(UINT64_MAX);
      return false;
    }
    return true;
  }
  void name() { in_.skip(padded(in_.number(count_bytes_))); }

  std::uint64_t type_bytes(std::uint64_t type) const {
    static constexpr std::array<std::uint64_t, 12> bytes{0, 1, 1, 2, 4, 4, 8, 1, 2, 4, 8, 8};
    return type < bytes.size() && (type <= 6 || count_bytes_ == 8) ? bytes[type] : 0;
  }
  bool dimensions() {
    std::uint64_t entries = 0;
    if (!list(0x0A, 2 * count_bytes_, entries)) return false;
    for (std::uint64_t i = 0; i < entries && !in_.cut(); ++i) {
      name();
      lengths_.push_back(in_.number(count_bytes_));
    }
    return !in_.cut();
  }
  bool attributes() {
    std::uint64_t entries = 0;
    if (!list(0x0C, 2 * count_bytes_ + 4, entries)) return false;
    for (std::uint64_t i = 0; i < entries && !in_.cut(); ++i) {
      name();
      const std::uint64_t each = type_bytes(in_.number(4));
      const auto bytes = multiply_add(in_.number(count_bytes_), each, 0);
      if (in_.cut()) return false;
      if (each == 0 || !bytes) return fails("an attribute has a type or length that does not exist");
      in_.skip(padded(*bytes));
    }
    return !in_.cut();
  }
  bool variables() {
    std::uint64_t entries = 0;
    if (!list(0x0B, 3 * count_bytes_ + 4 + offset_bytes_, entries)) return false;
    for (std::uint64_t i = 0; i < entries && !in_.cut(); ++i) {
      name();
      const std::uint64_t rank = in_.number(count_bytes_);
      if (rank > 1024) return fails("a variable has more dimensions than the format allows");
      Var var;
      std::optional<std::uint64_t> values = 1;
      for (std::uint64_t d = 0; d < rank && !in_.cut(); ++d) {
        const std::uint64_t id = in_.number(count_bytes_);
        if (in_.cut()) return false;
        if (id >= lengths_.size()) return fails("a variable names a dimension that does not exist");
        if (lengths_[id] == 0 && d > 0) return fails("a variable has the record dimension in another than the first place");
        if (lengths_[id] == 0)
          var.is_record = true;
        else if (values)
          values = multiply_add(*values, lengths_[id], 0);
      }
      if (!attributes()) return false;
      const std::uint64_t each = type_bytes(in_.number(4));
      in_.number(count_bytes_);  // vsize is redundant, and does not hold large sizes
      var.begin = in_.number(offset_bytes_);
      if (in_.cut()) return false;
      if (values) values = multiply_add(*values, each, 0);
      if (each == 0 || !values) return fails("a variable has a type or size that does not exist");
      var.bytes = *values;
      variables_.push_back(var);
    }
    return !in_.cut();
  }
  // Records follow each other with every variable padded to four bytes, except that a lone record variable is not padded.
  std::optional<std::uint64_t> extent(std::uint64_t records) {
    const auto record_variables = std::count_if(variables_.begin(), variables_.end(), [](const Var& v) { return v.is_record; });
    std::optional<std::uint64_t> record_bytes = 0;
    for (const Var& v : variables_) {
      if (v.is_record && record_bytes)
        record_bytes = multiply_add(1, record_variables == 1 ? v.bytes : padded(v.bytes), *record_bytes);
    }
    std::uint64_t end = 0;
    for (const Var& v : variables_) {
      if (v.is_record && records == 0) continue;
      const auto start = v.is_record && record_bytes ? multiply_add(records - 1, *record_bytes, v.begin) : std::optional(v.begin);
      const auto stop = start && record_bytes ? multiply_add(1, v.bytes, *start) : std::nullopt;
      if (!stop) return damaged("its variables would be larger than any file");
      end = std::max(end, *stop);
    }
    return end;
  }

  HeaderReader& in_;
  std::size_t count_bytes_, offset_bytes_;
  std::vector<std::uint64_t> lengths_;
  std::vector<Var> variables_;
  std::string damage_;
};

// Where an HDF5 file ends by its own word: behind its superblock at least, where that is cut off. Nullopt when it is of no known
// version or does not count in eight bytes.
std::optional<std::uint64_t> hdf5_end(const ReadAt& read, std::uint64_t superblock) {
  std::array<unsigned char, 52> raw{};
  const std::size_t got = read(superblock, raw.data(), raw.size());
  constexpr std::size_t kVersion = 8;
  if (got <= kVersion + 5) return superblock + kVersion + 6;
  const unsigned version = raw[kVersion];
  if (version > 3 || raw[version <= 1 ? 13 : 9] != 8) return std::nullopt;
  // Version 0: base, free space, end; version 1 has four bytes more before them; 2 and 3: base, extension, end.
  const std::size_t at = version == 0 ? 40 : version == 1 ? 44 : 28;
  if (got < at + 8) return superblock + at + 8;
  std::uint64_t end = 0;
  for (std::size_t i = 8; i-- > 0;) end = end << 8 | raw[at + i];
  return end;
}

// The kind of a file that is not NetCDF, in words.
std::string foreign(std::string_view head) {
  const auto starts = [&](std::string_view with) { return head.starts_with(with); };
  if (starts("\x1f\x8b")) return "a gzip-compressed file";
  if (starts("BZh")) return "a bzip2-compressed file";
  if (starts("\xfd"
             "7zXZ"))
    return "an xz-compressed file";
  if (starts("\x28\xb5\x2f\xfd")) return "a Zstandard-compressed file";
  if (starts("PK\x03\x04")) return "a ZIP archive";
  if (head.substr(0, 64).find("GRIB") != std::string_view::npos) return "a GRIB file cut off, or of an edition that is not known";
  if (starts("BUFR")) return "a BUFR file";
  if (starts("\x0e\x03\x13\x01")) return "an HDF4 file";
  if (starts("CDF")) return "a NetCDF file of a version that is not known";
  const auto text = head.substr(std::min(head.find_first_not_of(" \t\r\n"), head.size()));
  const std::string begins = lower(text.substr(0, 64));
  if (begins.starts_with("<!doctype html") || begins.starts_with("<html")) return "an HTML page";
  if (begins.starts_with("<?xml") || begins.starts_with("<")) return "an XML or HTML text";
  if (begins.starts_with("{") || begins.starts_with("[")) return "a JSON text";
  const bool printable = std::all_of(head.begin(), head.end(), [](char c) {
    const auto u = static_cast<unsigned char>(c);
    return u >= 32 || u == '\t' || u == '\r' || u == '\n';
  });
  return printable ? "a text file" : "a file of a format that is not known";
}

// A message of edition 1 or 2 begins here, or behind a bulletin's heading.
bool is_grib(std::string_view head) {
  const auto at = head.substr(0, 256).find("GRIB");
  return at != std::string_view::npos && head.size() >= at + 8 && (head[at + 7] == 1 || head[at + 7] == 2);
}

// The place of the next "GRIB" from `at` on, at most `within` bytes further; bulletin headings may stand before a message.
std::optional<std::uint64_t> next_message(const ReadAt& read, std::uint64_t at, std::uint64_t within) {
  std::vector<char> bytes(static_cast<std::size_t>(within));
  const std::size_t got = read(at, bytes.data(), bytes.size());
  const auto found = std::string_view(bytes.data(), got).find("GRIB");
  return found == std::string_view::npos ? std::nullopt : std::optional(at + found);
}

// The length that the message at `at` states for itself; 0 where it states none that is possible.
std::uint64_t message_length(const ReadAt& read, std::uint64_t at) {
  std::array<unsigned char, 16> head{};
  if (read(at, head.data(), head.size()) != head.size()) return 0;
  const auto number = [&](std::size_t from, std::size_t bytes) {
    std::uint64_t value = 0;
    for (std::size_t i = from; i < from + bytes; ++i) value = value << 8 | head[i];
    return value;
  };
  constexpr std::uint64_t kShortest = 16;
  if (head[7] == 2) return number(8, 8) >= kShortest ? number(8, 8) : 0;
  if (head[7] != 1) return 0;
  const std::uint64_t length = number(4, 3);
  if (!(length & 0x800000)) return length >= kShortest ? length : 0;
  // Longer than 24 bits, by common practice: with the top bit set and less than 120 stated for its fourth section the length
  // counts by 120 bytes, less what that section states, plus 4.
  const auto section_at = [&](std::uint64_t from, std::size_t bytes) -> std::uint64_t {
    std::array<unsigned char, 8> section{};
    if (read(from, section.data(), bytes) != bytes) return 0;
    std::uint64_t value = 0;
    for (std::size_t i = 0; i < bytes; ++i) value = value << 8 | section[i];
    return value;
  };
  std::uint64_t section = at + 8;
  const std::uint64_t flags = section_at(section + 7, 1);
  section += section_at(section, 3);
  for (const std::uint64_t has : {std::uint64_t{0x80}, std::uint64_t{0x40}})
    if (flags & has) section += section_at(section, 3);
  const std::uint64_t stated = section_at(section, 3);
  return stated < 120 ? (length & 0x7fffff) * 120 - std::min<std::uint64_t>(stated, (length & 0x7fffff) * 120) + 4 : length;
}

// Whether every message of a GRIB file is there.
std::optional<Error> cut_grib(const ReadAt& read, std::uint64_t size, const std::string& path) {
  constexpr std::uint64_t kHeading = 4096;
  std::uint64_t at = 0;
  for (int message = 1; const auto begin = next_message(read, at, kHeading); ++message) {
    const std::uint64_t length = message_length(read, *begin);
    const auto fault = [&](const char* code, std::string what) {
      return Error{ErrorKind::unreadable, code, path, std::move(what), kComplete};
    };
    if (length == 0)
      return size - *begin < 16 ? fault("truncated", fmt::format("cut off in the heading of its message {}", message))
                                : fault("damaged", fmt::format("message {} does not say how long it is", message));
    if (length > size - *begin)
      return fault("truncated", fmt::format("cut off: message {} has {} bytes, {} are there", message, length, size - *begin));
    std::array<char, 4> tail{};
    if (read(*begin + length - 4, tail.data(), 4) != 4 || std::string_view(tail.data(), 4) != "7777")
      return fault("damaged", fmt::format("message {} does not end as it should", message));
    at = *begin + length;
  }
  return std::nullopt;
}

}  // namespace

Result<FileKind> check_whole(int descriptor, const std::string& path) {
  struct stat status {};
  if (fstat(descriptor, &status) != 0 || !S_ISREG(status.st_mode))
    return Error{ErrorKind::unreadable, "unreadable", path, "not a regular file", kWanted};
  const auto read = [&](std::uint64_t at, void* to, std::size_t bytes) {
    const auto got = pread(descriptor, to, bytes, static_cast<off_t>(at));
    return got < 0 ? std::size_t{0} : static_cast<std::size_t>(got);
  };
  return check_whole(read, static_cast<std::uint64_t>(status.st_size), path);
}

Result<FileKind> check_whole(const ReadAt& read, std::uint64_t size, const std::string& path) {
  if (size == 0) return Error{ErrorKind::unreadable, "truncated", path, "the file is empty", kComplete};

  std::array<char, 1024> buffer{};
  const std::size_t got = read(0, buffer.data(), buffer.size());
  if (got == 0)
    return Error{ErrorKind::unreadable, "unreadable", path, "the file cannot be read",
                 "check the disk and the file's permissions"};
  const std::string_view head(buffer.data(), got);

  // An HDF5 superblock may stand behind a user block of 512 bytes, 1024, and so on.
  constexpr std::string_view hdf5_signature{"\x89HDF\r\n\x1a\n", 8};
  for (std::uint64_t at = 0; at + 8 <= size && at <= 65536; at = at == 0 ? 512 : at * 2) {
    std::array<char, 8> signature{};
    if (read(at, signature.data(), 8) != 8 || std::string_view(signature.data(), 8) != hdf5_signature) continue;
    const auto end = hdf5_end(read, at);
    if (end && size < *end) {
      return Error{ErrorKind::unreadable, "truncated", path,
                   fmt::format("cut off: {} bytes, but its superblock says {}", size, *end), kComplete};
    }
    return FileKind::hdf5;
  }

  if (is_station_table(head)) return FileKind::station_table;  // its last line says whether it is cut off
  if (!head.starts_with("CDF") && is_grib(head)) {
    if (auto fault = cut_grib(read, size, path)) return *fault;
    return FileKind::grib;
  }

  const bool is_classic = head.size() >= 4 && head.starts_with("CDF") && (head[3] == 1 || head[3] == 2 || head[3] == 5);
  if (!is_classic) {
    if (head.size() < 8 && (std::string_view("CDF").starts_with(head.substr(0, 3)) || hdf5_signature.starts_with(head))) {
      return Error{ErrorKind::unreadable, "truncated", path, fmt::format("cut off: {} bytes, not even a header", size),
                   kComplete};
    }
    return Error{ErrorKind::unreadable, "foreign", path, foreign(head) + ", neither NetCDF nor GRIB", kWanted};
  }
  HeaderReader in(read, size);
  in.skip(4);
  ClassicHeader header(in, head[3]);
  const auto expected = header.implied_size();
  if (in.cut())
    return Error{ErrorKind::unreadable, "truncated", path,
                 fmt::format("cut off or damaged: its header runs past its {} bytes", size), kComplete};
  if (!expected) return Error{ErrorKind::unreadable, "damaged", path, "damaged: " + header.damage(), kComplete};
  if (size < *expected) {
    return Error{ErrorKind::unreadable, "truncated", path,
                 fmt::format("cut off: {} bytes, but its header implies at least {}", size, *expected), kComplete};
  }
  return head[3] == 1 ? FileKind::classic : head[3] == 2 ? FileKind::offset_64bit : FileKind::cdf5;
}

}  // namespace hakea::ingest
