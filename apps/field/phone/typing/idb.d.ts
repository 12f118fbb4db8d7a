// The vendored idb.js, as far as the phone uses it, with the phone's own stores.
type Name = keyof Stores;
type Key = string | number | IDBKeyRange;

interface Reads<Row> {
  get(key: Key): Promise<Row | undefined>;
  getAll(key?: Key): Promise<Row[]>;
  getAllKeys(key?: Key): Promise<(string | number)[]>;
  count(): Promise<number>;
}
export interface Store<Row> extends Reads<Row> {
  put(row: Row): Promise<unknown>;
  delete(key: Key): Promise<void>;
  clear(): Promise<void>;
  index(name: string): Reads<Row>;
}
export interface Tx {
  objectStore<N extends Name>(name: N): Store<Stores[N]>;
  done: Promise<void>;
  error: DOMException | null;
  abort(): void;
}
export interface DB {
  get<N extends Name>(store: N, key: Key): Promise<Stores[N] | undefined>;
  getAll<N extends Name>(store: N, key?: Key): Promise<Stores[N][]>;
  getAllFromIndex<N extends Name>(store: N, index: string, key: Key): Promise<Stores[N][]>;
  put<N extends Name>(store: N, row: Stores[N]): Promise<unknown>;
  transaction(
    stores: Name[],
    mode?: IDBTransactionMode,
    options?: { durability: "strict" },
  ): Tx;
  close(): void;
  createObjectStore(
    name: Name,
    options: { keyPath: string },
  ): { createIndex(name: string, path: string): void };
}
export function openDB(
  name: string,
  version: number | undefined,
  hooks: {
    upgrade?: (db: DB, from: number) => void;
    blocking?: () => void;
    terminated?: () => void;
  },
): Promise<DB>;
/** Returns the browser's own object behind one of idb.js. */
export function unwrap(db: DB): IDBDatabase;
export function wrap(tx: IDBTransaction): Tx;
