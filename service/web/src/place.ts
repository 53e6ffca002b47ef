// Where in the page its address points, as #/unit/ID?day=DATE, and by which paths the service is asked for what that takes.
import type { District } from './types';

export interface Place {
  view: string;
  id: string;
  query: URLSearchParams;
}

export function placeOf(hash: string): Place {
  const [path = '', query = ''] = hash.replace(/^#\/?/, '').split('?');
  const [view = '', id = ''] = path.split('/');
  return { view: view || 'district', id: decodeURIComponent(id), query: new URLSearchParams(query) };
}

// The district that is wanted, or the first.
export function districtShown(all: District[], wanted: string | null | undefined): District | undefined {
  return all.find((d) => d.id === wanted) ?? all[0];
}

export const paths = {
  session: '/session',
  districts: '/districts',
  units: '/units?limit=1000', // the most that one answer holds
  quantities: '/quantities',
  days: (district: string) => `/days?district=${district}`,
  bookings: (district: string) => `/bookings?district=${district}`,
  stops: (district: string) => `/stops?district=${district}`,
};
