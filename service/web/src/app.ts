// What every view needs: the district, its units, the quantities, who reads, and where in the page they are.
import { createContext } from 'preact';
import { useContext, useEffect, useState } from 'preact/hooks';
import { placeOf, type Place } from './place';
import type { District, Session, Unit } from './types';
import type { Catalogue } from './words';

export interface App {
  district: District;
  units: Map<string, Unit>;
  catalogue: Catalogue;
  session: Session;
  zone: string; // of the district; a unit's own is on the unit
  isDemo: boolean;
}

export const AppContext = createContext<App | null>(null);

export function useApp(): App {
  const app = useContext(AppContext);
  if (!app) throw new Error('a view was drawn outside the page');
  return app;
}

export function unitName(app: App, id: string): string {
  return app.units.get(id)?.properties.name ?? id;
}

export function unitZone(app: App, id: string): string {
  return app.units.get(id)?.properties.time_zone ?? app.zone;
}

// --- what the reader's role may do ---

const roles = ['viewer', 'officer', 'coordinator', 'operator'];

type Deed = 'draft' | 'commit' | 'prescribe' | 'subscribe';

// A deed takes a role and a scope; the service checks again, this only keeps people from filling forms in vain.
const deeds: Record<Deed, { least: string; scope: string; refused: string }> = {
  draft: { least: 'officer', scope: 'plans:write', refused: 'Booking takes an officer (a draft) or a coordinator (a commitment).' },
  commit: { least: 'coordinator', scope: 'plans:write', refused: 'Committing takes a coordinator; an officer proposes a draft.' },
  subscribe: { least: 'officer', scope: 'subscriptions:write', refused: 'Subscribing, acknowledging and making a calendar link take an officer.' },
  prescribe: { least: 'coordinator', scope: 'units:write', refused: 'Storing a prescription takes a coordinator.' },
};

export function may(app: App, deed: Deed): boolean {
  const { least, scope } = deeds[deed];
  return roles.indexOf(app.session.role) >= roles.indexOf(least) && app.session.scopes.includes(scope);
}

export function refusal(app: App, deed: Deed): string {
  return `${deeds[deed].refused} You are signed in as ${app.session.role}.`;
}

// --- where in the page ---

export function usePlace(): Place {
  const [hash, setHash] = useState(location.hash);
  useEffect(() => {
    const moved = () => setHash(location.hash);
    addEventListener('hashchange', moved);
    return () => removeEventListener('hashchange', moved);
  }, []);
  return placeOf(hash);
}

export function linkTo(view: string, id = '', query: Record<string, string> = {}): string {
  const search = new URLSearchParams(query).toString();
  return `#/${view}${id ? `/${encodeURIComponent(id)}` : ''}${search ? `?${search}` : ''}`;
}

// The place's query changed without a new entry in the history.
export function setQuery(place: Place, changes: Record<string, string | null>): void {
  const query = new URLSearchParams(place.query);
  for (const [name, value] of Object.entries(changes))
    if (value === null) query.delete(name);
    else query.set(name, value);
  const hash = linkTo(place.view, place.id, Object.fromEntries(query));
  history.replaceState(null, '', hash);
  dispatchEvent(new HashChangeEvent('hashchange'));
}
