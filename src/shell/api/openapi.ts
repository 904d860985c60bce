/** The OpenAPI document, made of the very schemas that requests are checked by. */

import { z } from 'zod'
import packageJson from '../../../package.json' with { type: 'json' }
import { problem } from './schema/common.ts'
import type { Answer, Route } from './schema/route.ts'

type Json = Record<string, unknown>

/** Whether a server has a route, or only agreed to have it. */
export function isServed(route: Route): boolean {
  return route.later !== true
}

/** OpenAPI 3.1.0 for the routes that a server has. */
export function openApiOf(routes: readonly Route[]): Json {
  const paths: Record<string, Json> = {}
  const schemas: Json = {}
  // what has an id stands among the components by itself; what comes back only refers to it
  schemaOf(problem, 'output', schemas)
  for (const route of routes)
    paths[route.path] = { ...paths[route.path], [route.method.toLowerCase()]: operationOf(route, schemas) }
  return {
    openapi: '3.1.0',
    info: {
      title: 'Tarnward',
      version: packageJson.version,
      description: DESCRIPTION,
      license: { name: 'MIT', identifier: 'MIT' },
    },
    servers: [{ url: '/' }],
    paths,
    components: {
      securitySchemes: {
        token: { type: 'http', scheme: 'bearer', description: 'made by `tarnward token create`' },
        session: { type: 'apiKey', in: 'cookie', name: 'tarnward-token', description: 'set by POST /api/session' },
      },
      schemas,
    },
  }
}

const DESCRIPTION =
  'What the daemon of one reservoir shows and takes. Times are epoch milliseconds UTC; units are the last part of a name. ' +
  'On a server that listens on its own machine alone, reading needs no token. Refusals are problem details (RFC 9457).'

function operationOf(route: Route, shared: Json): Json {
  const answers = Object.entries(route.answers).map(([status, answer]) => [status, answerOf(answer, shared)])
  return {
    operationId: operationIdOf(route),
    summary: route.summary,
    description: `Role: ${route.role}.`,
    security: route.role === 'anyone' ? [{}] : [{ token: [] }, { session: [] }],
    parameters: parametersOf(route, shared),
    ...(route.body === undefined
      ? {}
      : {
          requestBody: {
            required: !route.body.safeParse(undefined).success,
            content: jsonContent(route.body, 'input', shared),
          },
        }),
    responses: { ...Object.fromEntries(answers), default: REFUSED },
  }
}

const REFUSED = {
  description: 'refused, in words',
  content: { 'application/problem+json': { schema: { $ref: '#/components/schemas/Problem' } } },
}

function operationIdOf({ method, path }: Route): string {
  const words = path.split(/[/{}._-]+/).filter((word) => word !== '')
  return [method.toLowerCase(), ...words].join('-')
}

function answerOf({ description, schema, type }: Answer, shared: Json): Json {
  if (schema) return { description, content: jsonContent(schema, 'output', shared) }
  return { description, content: { [type ?? 'text/plain']: { schema: { type: 'string' } } } }
}

function jsonContent(schema: z.ZodType, io: 'input' | 'output', shared: Json): Json {
  return { 'application/json': { schema: schemaOf(schema, io, shared) } }
}

function parametersOf(route: Route, shared: Json): Json[] {
  const from = (where: string, object: z.ZodObject | undefined): Json[] =>
    Object.entries(object?.shape ?? {}).map(([name, field]) => {
      const schema = field as z.ZodType
      const isRequired = where === 'path' || !schema.safeParse(undefined).success
      return { name, in: where, required: isRequired, schema: schemaOf(schema, 'output', shared) }
    })
  const key = {
    name: 'Idempotency-Key',
    in: 'header',
    required: true,
    schema: { type: 'string', pattern: '^[\\w-]{8,100}$' },
  }
  return [...from('path', route.params), ...from('query', route.query), ...(route.needsKey ? [key] : [])]
}

/** One schema by itself; what has an id stands among the components, and a request’s form of it beside its answer’s. */
function schemaOf(schema: z.ZodType, io: 'input' | 'output', shared: Json): Json {
  const json = z.toJSONSchema(schema, { io, target: 'draft-2020-12', unrepresentable: 'any', reused: 'inline' })
  const ending = io === 'input' ? 'Asked' : ''
  const text = JSON.stringify(json).replaceAll(/"#\/\$defs\/([^"]+)"/g, `"#/components/schemas/$1${ending}"`)
  const { $schema: _dialect, $defs, ...rest } = JSON.parse(text) as Json & { $defs?: Json }
  for (const [name, definition] of Object.entries($defs ?? {})) shared[`${name}${ending}`] = definition
  return rest
}
