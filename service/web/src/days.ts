// What several views ask of days, bookings and limits.
import type { AllDays, Booking, Day, Prescription } from './types';

export function bestWindow(day: Day) {
  const best = [...day.windows].sort(
    (a, b) => Number(a.unconfirmed) - Number(b.unconfirmed) || (b.fit ?? 0) - (a.fit ?? 0) || a.start.localeCompare(b.start),
  );
  return best[0];
}

// The date a view is about: the one asked for, else the first on which something is met.
export function dateShown(days: AllDays['days'], asked: string | null): string {
  const shown = days.find((d) => d.date === asked) ?? days.find((d) => d.units.some((u) => u.verdict === 'met')) ?? days[0];
  return shown?.date ?? '';
}

// By "UNIT/DATE".
export function byUnitAndDate<T extends { unit: string; date: string }>(list: T[]): Map<string, T> {
  return new Map(list.map((one): [string, T] => [`${one.unit}/${one.date}`, one]));
}

// The booking that stands for each unit's day, by "UNIT/DATE": one that was stood down leaves the day to be booked anew, and of
// several the last counts.
export function standingBookings(bookings: Booking[]): Map<string, Booking> {
  return byUnitAndDate(bookings.filter((b) => b.state !== 'stood_down'));
}

// What is met, or may come to be.
export function mayBurn(day: Day): boolean {
  return ['met', 'unknown', 'near_miss'].includes(day.verdict);
}

export function isOpenBurn(booking: Booking): boolean {
  return ['lit', 'mop_up', 'patrol'].includes(booking.state);
}

export function limitedQuantities(prescription: Prescription): string[] {
  return [...new Set(prescription.limits.map((l) => l.quantity))];
}
