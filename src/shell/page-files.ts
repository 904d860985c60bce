/** The page’s files. Nothing else of the disk can be asked for. */

import { existsSync, readdirSync, readFileSync } from 'node:fs'
import type { FastifyInstance, FastifyRequest } from 'fastify'

const TYPES: Readonly<Record<string, string>> = {
  html: 'text/html; charset=utf-8',
  js: 'text/javascript; charset=utf-8',
  css: 'text/css; charset=utf-8',
  svg: 'image/svg+xml',
  woff2: 'font/woff2',
}
/** A name with its content’s hash in it never means anything else. */
const HASHED = /-[A-Z0-9]{8}\.\w+$/
const FOR_EVER = 'public, max-age=31536000, immutable'

interface PageFile {
  readonly type: string
  readonly plain: Buffer
  readonly br?: Buffer
  readonly gzip?: Buffer
}

/** Serves every file of a folder under its own name, and index.html as `/`. They are read once. */
export function servePage(server: FastifyInstance, folder: URL): void {
  if (!existsSync(folder)) return
  for (const name of readdirSync(folder)) {
    const type = TYPES[name.split('.').at(-1) ?? '']
    if (type === undefined) continue
    const file = read(folder, name, type)
    server.get(name === 'index.html' ? '/' : `/${name}`, { config: { isPage: true } }, async (request, reply) => {
      const { encoding, bytes } = chosen(file, request)
      if (encoding !== undefined) reply.header('content-encoding', encoding)
      if (HASHED.test(name)) reply.header('cache-control', FOR_EVER)
      return reply.header('vary', 'accept-encoding').type(type).send(bytes)
    })
  }
}

function read(folder: URL, name: string, type: string): PageFile {
  const pack = (ending: string): Buffer | undefined => {
    const url = new URL(`${name}.${ending}`, folder)
    return existsSync(url) ? readFileSync(url) : undefined
  }
  const [br, gzip] = [pack('br'), pack('gz')]
  return { type, plain: readFileSync(new URL(name, folder)), ...(br ? { br } : {}), ...(gzip ? { gzip } : {}) }
}

function chosen(file: PageFile, request: FastifyRequest): { readonly encoding?: string; readonly bytes: Buffer } {
  const accepted = String(request.headers['accept-encoding'] ?? '')
  if (file.br && /\bbr\b/.test(accepted)) return { encoding: 'br', bytes: file.br }
  if (file.gzip && /\bgzip\b/.test(accepted)) return { encoding: 'gzip', bytes: file.gzip }
  return { bytes: file.plain }
}
